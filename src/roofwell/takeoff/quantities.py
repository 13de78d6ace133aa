"""What to buy, dig and pay: values. The steps that make them stand beside, in the same room."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the order.

    ``key`` is the price book's item; ``quantity`` is in ``unit`` (the trade's word: "stick", "each",
    "cu yd", "ton", "sq yd", "h", "day"; metric: "m³", "t", "m²"). ``where`` names part and station.
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


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The whole take-off. ``price`` is None while an item has no price."""

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
