"""What to buy, dig and pay: values. The steps that make them stand beside, in the same room."""

from __future__ import annotations

from dataclasses import dataclass

from roofwell.takeoff.bends import Turn
from roofwell.takeoff.chains import Chain
from roofwell.takeoff.cutting import Cut


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the order.

    ``key`` is the price book's item; ``quantity`` is in ``unit`` (the trade's word: "stick", "each",
    "cu yd", "ton", "sq yd", "h", "day"; metric: "m³", "t", "m²"). ``where`` names part and
    station; ``note`` is the sum that made the quantity.
    ``priced`` is False where the cost stands in other lines (what is dug is paid in hours).
    """

    key: str
    group: str  # "pipe", "fittings", "basin", "well", "stone", "geotextile", "digging", "hours", "rental"
    what: str
    quantity: float
    unit: str
    where: str
    note: str
    price_each: float | None
    amount: float | None
    priced: bool = True


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The whole take-off. ``price`` is None while an item that is paid has no price.

    Stone and geotextile: stone as it lies (without waste), geotextile as bought (with laps). Excavation,
    ``backfill_m3`` and ``haul_m3`` are bank volumes; ``spoil_m3`` is everything dug, loose in the pile.
    ``hours`` are person-hours; a machine's days are an item. ``cuts`` is the cutting list, ``chains`` the
    pieces of every run in their order, ``turns`` every turn in plan with the angle left over.
    """

    items: tuple[Item, ...]
    stone_m3: float
    stone_kg: float
    excavation_m3: float
    spoil_m3: float
    geotextile_m2: float
    hours: float
    price: float | None
    unpriced: tuple[str, ...]
    currency: str
    price_book: str
    prices_invented: bool
    backfill_m3: float = 0.0
    haul_m3: float = 0.0
    cuts: tuple[Cut, ...] = ()
    chains: tuple[Chain, ...] = ()
    turns: tuple[Turn, ...] = ()
