"""From a Scheme to what must be bought, dug and paid."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.takeoff import digging, lines, parts, paving, work
from roofwell.takeoff.bends import turns
from roofwell.takeoff.bodies import body_lines
from roofwell.takeoff.chains import chains_of
from roofwell.takeoff.cutting import cut
from roofwell.takeoff.geotextile import lining
from roofwell.takeoff.price_book import Prices
from roofwell.takeoff.quantities import Item, Takeoff


def take_off(
    scheme: Scheme,
    survey: Survey,
    prices: Prices | None,
    *,
    existing: Collection[str] = (),
    by_hand: bool = False,
) -> Takeoff:
    """Return what to buy, dig and pay for everything in the Scheme that does not stand already.

    Parameters
    ----------
    prices
        The price book; None: quantities only, every paid item is listed as unpriced.
    existing
        Labels of parts and runs that are reused: neither bought nor dug for. A new run is still made to fit
        an existing one.
    by_hand
        Dig by hand instead of with a small machine; changes hours and rental only.

    Returns
    -------
    Takeoff
        Items in this order: pipe, fittings, basin, well, stone, geotextile, digging, hours, rental.
    """
    settings, style = survey.settings, survey.style
    bought = _new(scheme, frozenset(existing))
    basins = [basin for basin in scheme.basins if basin.id in bought]
    wells = [well for well in scheme.wells if well.id in bought]
    waste, swell = settings["waste"], settings["swell"]
    plans, chains = cut(chains_of(scheme, bought=bought, style=style), style)
    dug = digging.holes(scheme, settings, bought=bought)
    soil = digging.soil_of(dug, swell)
    passed = paving.passed(scheme, settings, bought=bought)
    stone = parts.stone_volumes(wells, dug)
    stone_m3 = math.fsum(volume for places in stone.values() for _, volume in places)
    geotextile_m2 = math.fsum(lining(well, settings["lap"]).gross_m2 for well in wells)
    fittings = lines.fitting_lines(chains, style)
    hours = work.hour_lines(
        dug,
        soil,
        pipe_m=math.fsum(plan.needed_m for plan in plans),
        fittings=round(math.fsum(item.quantity for item in fittings)),
        basins=len(basins),
        bodies=sum(well.pieces for well in wells),
        stone_m3=stone_m3,
        geotextile_m2=geotextile_m2,
        by_hand=by_hand,
        style=style,
        paving=paving.paving_tasks(passed),
    )
    items = [
        *lines.pipe_lines(plans, waste, style),
        *fittings,
        *parts.basin_lines(basins, style),
        *body_lines(wells),
        *parts.splash_lines(scheme, bought),
        *parts.stone_lines(stone, wells, settings, style),
        *parts.geotextile_lines(wells, settings, style),
        *work.digging_lines(dug, soil, swell, style),
        *work.lawn_lines(dug, style),
        *paving.paving_lines(passed, style),
        *hours,
    ]
    priced, unpriced, price = _priced([item for item in items if item.quantity > 0], prices)
    return Takeoff(
        items=priced,
        stone_m3=stone_m3,
        stone_kg=stone_m3 * settings["stone_density"],
        excavation_m3=soil.bank_m3,
        spoil_m3=soil.loose_m3,
        geotextile_m2=geotextile_m2,
        hours=math.fsum(item.quantity for item in hours if item.group == "hours"),
        price=price,
        unpriced=unpriced,
        currency=prices.currency if prices is not None else "",
        price_book=_book_name(prices),
        prices_invented=prices is not None and bool(prices.invented),
        backfill_m3=soil.backfill_m3,
        haul_m3=soil.hauled_m3,
        cuts=tuple(piece for plan in plans for piece in plan.cuts),
        chains=chains,
        turns=tuple(turn for turn in turns(scheme) if turn.run in bought),
    )


def _new(scheme: Scheme, existing: frozenset[str]) -> frozenset[str]:
    groups: Sequence[Iterable[str]] = (
        (part.id for part in scheme.basins),
        (part.id for part in scheme.wells),
        (part.id for part in scheme.overflows),
        (part.id for part in scheme.outlets),
        (run.id for run in scheme.runs),
    )
    return frozenset(id for group in groups for id in group) - existing


def _book_name(prices: Prices | None) -> str:
    if prices is None:
        return ""
    return f"{prices.name or 'price book'}, {prices.dated.isoformat()}"


def _priced(
    items: Sequence[Item], prices: Prices | None
) -> tuple[tuple[Item, ...], tuple[str, ...], float | None]:
    """Items with price and amount (to the cent); keys without a price; the total, None while any."""
    out: list[Item] = []
    for item in items:
        each = prices.price(item.key, item.unit) if prices is not None and item.priced else None
        out.append(
            item if each is None else replace(item, price_each=each, amount=round(each * item.quantity, 2))
        )
    unpriced = tuple(dict.fromkeys(item.key for item in out if item.priced and item.amount is None))
    total = math.fsum(item.amount for item in out if item.amount is not None)
    return tuple(out), unpriced, None if unpriced else round(total, 2)
