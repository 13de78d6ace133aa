"""What a route counts besides ordinary trench: turns, joints, walks and drives, hand digging, runs crossed.

The table's figures rank trenches by their length while nobody's prices are in; a price book of the user's own
brings others (``takeoff.route_prices``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from roofwell import tables, units
from roofwell.physics.trench.route_turns import TurnPrices
from roofwell.physics.trench.route_zones import Way


@dataclass(frozen=True, slots=True)
class RouteWeights:
    """Costs in lengths of the shallowest trench under lawn, m; hashable, so that routes found are kept.

    ``walk`` and ``drive`` are the ways across, the last of them without a longest length. ``by_hand`` multiplies
    trench dug by hand, ``own_run`` is added where a given run of the system is crossed. ``deep_share`` is the part
    of the cost of trench that grows with its depth. ``basis`` says in words where the weights come from.
    """

    turns: TurnPrices
    walk: tuple[Way, ...]
    drive: tuple[Way, ...]
    by_hand: float
    own_run: float
    deep_share: float = 1.0
    basis: str = "lengths of trench"

    def ways(self, kind: str) -> tuple[Way, ...]:
        """Return the ways across a ``walk`` or ``drive``."""
        return self.walk if kind == "walk" else self.drive


@cache
def price(key: str) -> float:
    """Return a row of ``route_prices.csv`` in SI."""
    row = next(row for row in tables.rows("route_prices") if row["key"] == key)
    return units.parse(row["value"], units.Dimension(row["dimension"])).value_si


@cache
def elbow_kinds() -> dict[float, str]:
    """Return the elbows on sale by their angle, rad, smallest first."""
    rows = [row for row in tables.rows("fitting_ends") if row["kind"].startswith("elbow-")]
    found = {math.radians(float(row["angle_deg"])): row["kind"] for row in rows}
    return dict(sorted(found.items()))


@cache
def table_weights() -> RouteWeights:
    """Return the weights of the table: common practice, no prices."""
    return RouteWeights(
        turns=TurnPrices(
            elbows_rad=tuple(elbow_kinds()),
            elbow=price("elbow"),
            wye=price("wye"),
            inlet=price("inlet"),
            left_over=price("left-over"),
            free_rad=tables.assumption("bend-without-fitting").value_si,
        ),
        walk=_ways("walk"),
        drive=_ways("drive"),
        by_hand=price("hand-dig-each"),
        own_run=price("own-run"),
    )


def _ways(kind: str) -> tuple[Way, ...]:
    return (
        Way("bored", price(f"{kind}-bore-start"), price(f"{kind}-bore-each"), price(f"{kind}-bore-longest")),
        Way("cut", price(f"{kind}-cut-start"), price(f"{kind}-cut-each"), math.inf),
    )


def cheapest(ways: tuple[Way, ...], across_m: float, *, turns_inside: bool) -> Way:
    """Return the way across that costs least; where a run begins or turns inside, only the last is possible."""
    fit = [way for way in ways if across_m <= way.longest_m] if not turns_inside else []
    return min(fit or ways[-1:], key=lambda way: way.start + way.per_m * across_m)
