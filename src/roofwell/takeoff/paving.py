"""Walks and drives that the trenches pass: what is bored by its length, what is cut, lifted and patched by its area."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from roofwell.system.dug_by import trench_width_m
from roofwell.system.scheme import PavedCrossing, Scheme
from roofwell.takeoff.lines import line
from roofwell.takeoff.quantities import Item
from roofwell.takeoff.trade import cloth, station, up
from roofwell.units import Style, show_distance, show_length
from roofwell.units.factors import FOOT_M

ASSUMED_WORDS = "nobody said how: what costs less is counted"


@dataclass(frozen=True, slots=True)
class Passed:
    """One walk or drive that a new run passes, with the width of its trench, m."""

    crossing: PavedCrossing
    width_m: float

    @property
    def area_m2(self) -> float:
        """Paving that is cut and put back, m²; 0 where it is bored."""
        return self.width_m * self.crossing.length_m if self.crossing.way == "cut" else 0.0

    @property
    def bored_m(self) -> float:
        """Length bored, m; 0 where it is cut."""
        return self.crossing.length_m if self.crossing.way == "bored" else 0.0


def passed(scheme: Scheme, settings: Mapping[str, float], *, bought: frozenset[str]) -> tuple[Passed, ...]:
    """Return what the new runs (ids in ``bought``) pass."""
    outside = {run.id: run.outside_diameter_m for run in scheme.buried}
    return tuple(
        Passed(crossing, trench_width_m(outside[crossing.run], settings))
        for crossing in scheme.paved
        if crossing.run in bought
    )


def paving_lines(all_passed: Sequence[Passed], style: Style) -> list[Item]:
    """Return what boring and cutting take besides hours: by the length, and by the area cut."""
    out = []
    for kind in ("walk", "drive"):
        here = [item for item in all_passed if item.crossing.kind == kind]
        bored = [item for item in here if item.bored_m > 0]
        if bored:
            length = math.fsum(item.bored_m for item in bored)
            quantity, unit = (length / float(FOOT_M), "ft") if style == "us" else (length, "m")
            note = " + ".join(f"{item.crossing.id} {show_distance(item.bored_m, style)}" for item in bored)
            out.append(
                _line(f"bore:{kind}", f"bore under a {kind}", up(quantity, 0.5), unit, bored, note, style)
            )
        cut = [item for item in here if item.area_m2 > 0]
        if cut:
            quantity, unit = cloth(math.fsum(item.area_m2 for item in cut), style)
            note = " + ".join(
                f"{item.crossing.id} {show_distance(item.crossing.length_m, style)} x "
                f"{show_length(item.width_m, style)}"
                for item in cut
            )
            words = f"saw and lift a {kind}, relay or patch it"
            out.append(_line(f"cut:{kind}", words, up(quantity, 0.5), unit, cut, note, style))
    return out


def _line(
    key: str, what: str, quantity: float, unit: str, items: Sequence[Passed], note: str, style: Style
) -> Item:
    places = [
        f"{item.crossing.run} at {station(item.crossing.station_m, style)} ({item.crossing.id})"
        for item in items
    ]
    assumed = [item.crossing.run for item in items if item.crossing.origin == "assumed"]
    if assumed:
        note = f"{note}; {', '.join(dict.fromkeys(assumed))}: {ASSUMED_WORDS}"
    return line(key, "digging", what, quantity, unit, ", ".join(places), note)


def paving_tasks(all_passed: Sequence[Passed]) -> list[tuple[str, float]]:
    """Return the work that boring and cutting take: rate of ``work_rates.csv`` and how much of it."""
    bores = [item for item in all_passed if item.bored_m > 0]
    area = math.fsum(item.area_m2 for item in all_passed)
    return [
        ("set-up-bore", float(len(bores))),
        ("bore", math.fsum(item.bored_m for item in bores)),
        ("cut-paving", area),
        ("patch-paving", area),
    ]
