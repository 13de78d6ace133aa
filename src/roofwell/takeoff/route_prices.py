"""What a route counts once the user's own prices are in: turns, crossings and hand digging by price book and hours.

Everything is brought to lengths of the shallowest trench under lawn with its pipe, by what a length of that costs
in the same book. Until a book of the user's own is in, ``system.route_weights`` ranks by lengths of trench alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from roofwell.job import model
from roofwell.physics.trench.route_zones import Way
from roofwell.system.facts import Survey
from roofwell.system.route_ground import Trench
from roofwell.system.route_weights import RouteWeights, table_weights
from roofwell.system.trench_parts import default_part, pipe_sizes
from roofwell.system.usual_trench import usual_trench
from roofwell.takeoff.catalog import pipe_size, stick_of, work_rate
from roofwell.takeoff.price_book import Prices
from roofwell.takeoff.trade import bulk, cloth, mass, size_key
from roofwell.units.factors import FOOT_M


@dataclass(frozen=True, slots=True)
class _Rates:
    """Prices of one book in SI; NaN where the book has none."""

    prices: Prices
    survey: Survey

    def each(self, key: str, unit: str) -> float:
        found = self.prices.price(key, unit)
        return math.nan if found is None else found

    def hours(self, rate: str) -> float:
        """Money for one unit of work."""
        return self.each("labor", "h") / work_rate(rate).rate_per_hour

    def meter(self, key: str) -> float:
        return self.each(key, "ft") / float(FOOT_M) if self.survey.style == "us" else self.each(key, "m")

    def square_meter(self, key: str) -> float:
        amount, unit = cloth(1.0, self.survey.style)
        return amount * self.each(key, unit)

    def cubic_meter(self, key: str) -> float:
        amount, unit = bulk(1.0, self.survey.style)
        return amount * self.each(key, unit)

    def kilogram(self, key: str) -> float:
        amount, unit = mass(1.0, self.survey.style)
        return amount * self.each(key, unit)


def route_weights(prices: Prices | None, job: model.Job, survey: Survey) -> RouteWeights | None:
    """Return what a route counts by a price book of the user's own; None by the shipped one, or by none.

    None too where the book lacks a price that every trench pays (pipe, labor, machine, bedding, lawn, haul-off).
    What else it lacks keeps the table's weight.
    """
    if prices is None or prices.invented:
        return None
    rates, table, trench = _Rates(prices, survey), table_weights(), usual_trench(job, survey)
    pipe = job.settings.pipe or default_part("pipe", survey)
    pipe = pipe if pipe_sizes(pipe) else default_part("pipe", survey)
    nominal = next(
        size.nominal_m for size in pipe_sizes(pipe) if math.isclose(size.inside_m, trench.inside_m)
    )
    size = pipe_size(pipe, nominal)
    by_depth, once, by_hand = _a_length(rates, trench, pipe, nominal)
    length = by_depth + once
    if not length > 0:
        return None

    def or_table(kind: str, weight: float) -> float:
        price = rates.each(f"fitting:{kind}:{size_key(size.nominal_m)}", "each")
        found = (price + rates.hours("set-fitting")) / length
        return found if math.isfinite(found) else weight

    turns = replace(
        table.turns,
        elbow=or_table("elbow-45", table.turns.elbow),
        wye=or_table("wye", table.turns.wye),
        inlet=or_table("basin-boot", table.turns.inlet),
    )
    return replace(
        table,
        turns=turns,
        walk=tuple(_way(rates, "walk", way, trench, length) for way in table.walk),
        drive=tuple(_way(rates, "drive", way, trench, length) for way in table.drive),
        by_hand=max(1.0, by_hand / length),
        deep_share=by_depth / length,
        basis="price book",
    )


def _a_length(rates: _Rates, trench: Trench, pipe: str, nominal_m: float) -> tuple[float, float, float]:
    """Money for a metre of the shallowest trench: what grows with depth, what does not; and all of it dug by hand.

    By hand beside a marked line digging takes as many times longer as the table of routes says.
    """
    settings = rates.survey.settings
    bedding, swell = settings["pipe_bedding"], settings["swell"]
    dug = trench.width_m * (trench.shallowest_m + bedding)
    out = trench.width_m * bedding + math.pi / 4 * trench.outside_m**2
    machine = rates.each("excavator", "day") / work_rate("machine-day").rate_per_hour
    by_machine = dug * (
        rates.hours("dig-trench-machine") + machine / work_rate("dig-trench-machine").rate_per_hour
    )
    back = max(0.0, dug - out) * rates.hours("backfill")
    stick = stick_of(pipe_size(pipe, nominal_m), rates.survey.style)
    stone = trench.width_m * bedding * settings["stone_density"]
    once = (
        rates.each(f"pipe:{pipe}:{size_key(nominal_m)}", "stick") / stick.laid_m
        + rates.hours("lay-pipe")
        + trench.width_m * rates.square_meter("lawn")
        + stone * rates.kilogram("stone:pea")
        + out * (1 + swell) * (rates.cubic_meter("spoil") + rates.hours("move-spoil"))
    )
    return by_machine + back, once, table_weights().by_hand * by_machine + back + once


def _way(rates: _Rates, kind: str, way: Way, trench: Trench, length: float) -> Way:
    """A way across by the book: what it costs over ordinary trench, which a bore saves and a cut does not."""
    if way.name == "bored":
        start = rates.hours("set-up-bore")
        per_m = rates.meter(f"bore:{kind}") + rates.hours("bore") - length
    else:
        start = 0.0
        put_back = rates.square_meter(f"cut:{kind}") - rates.square_meter("lawn")
        per_m = trench.width_m * (put_back + rates.hours("cut-paving") + rates.hours("patch-paving"))
    if not math.isfinite(start + per_m):
        return way
    return replace(way, start=start / length, per_m=max(0.0, per_m) / length)
