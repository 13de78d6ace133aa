"""Reduction of a level book by the height of the instrument.

Height of instrument = elevation of the backsight point + rod reading; elevation = height of instrument -
rod reading. Set-ups are joined by turning points. Source: common practice of leveling; the worked
level books that it is checked against are named in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from roofwell.errors import InputError

EntryKind = Literal["backsight", "foresight", "turning point", "shot"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One reading: ``shot`` is an intermediate sight, ``foresight`` and ``turning point`` end a set-up.

    ``rod_m`` is negative for a rod held upside down against something overhead.
    """

    setup: str
    kind: EntryKind
    point_id: str
    rod_m: float


@dataclass(frozen=True, slots=True)
class LevelStep:
    """An entry with what follows from it; unadjusted."""

    index: int
    entry: Entry
    height_of_instrument_m: float
    elevation_m: float


@dataclass(frozen=True, slots=True)
class RepeatedSight:
    """A point sighted again: elevation found this time less the one already known."""

    index: int
    point: str
    difference_m: float


@dataclass(frozen=True, slots=True)
class LevelBook:
    """A reduced level book, m.

    ``closure_m`` is the elevation found at the last sight on a benchmark less its known elevation; None if no
    benchmark was sighted again. ``height_of_instrument_m`` carries the adjustment, so that elevation = height
    of instrument - rod reading holds for what is printed. ``arithmetic_check_m`` is (sum of backsights - sum
    of foresights) - (last - first elevation), zero but for rounding; None where a set-up has not exactly one
    foresight. ``repeats`` are further sights on points already known, the closing one included.
    """

    elevation_m: dict[str, float]
    height_of_instrument_m: dict[str, float]
    closure_m: float | None
    adjusted: bool
    arithmetic_check_m: float | None
    repeats: tuple[RepeatedSight, ...]
    steps: tuple[LevelStep, ...]

    def words(self, length: Callable[[float], str] = lambda value_m: f"{value_m:.3f} m") -> tuple[str, ...]:
        """Return the steps in words, lengths written by ``length``."""
        lines = []
        for step in self.steps:
            rod, height = length(step.entry.rod_m), length(step.height_of_instrument_m)
            here, point = length(step.elevation_m), step.entry.point_id
            if step.entry.kind == "backsight":
                lines.append(f"{step.entry.setup}: {point} at {here} + {rod} = height of instrument {height}")
            else:
                lines.append(f"{point}: {height} - {rod} = {here} ({step.entry.kind})")
        if self.closure_m is not None:
            lines.append(f"closure {length(self.closure_m)}" + (", spread over the set-ups" * self.adjusted))
        return tuple(lines)


def _where(index: int, entry: Entry) -> str:
    return f"entry {index} ({entry.kind} on {entry.point_id} from set-up {entry.setup})"


def reduce_levels(
    *, entries: Sequence[Entry], benchmark_elevations: Mapping[str, float], spread_closure: bool = False
) -> LevelBook:
    """Reduce the entries, in their order, to elevations.

    Parameters
    ----------
    entries
        Readings in the order of the book, counted from 0; the first of each set-up is its one backsight.
    benchmark_elevations
        Elevations that are known beforehand, m; they are kept.
    spread_closure
        Whether to spread the closure over the set-ups since the benchmark, in proportion to their number.

    Raises
    ------
    InputError
        ``level-kind``, ``level-rod`` (not a finite number), ``level-no-backsight`` (a set-up that begins
        without one), ``level-two-backsights``, ``level-unknown-backsight``; each names the entry.
        ``level-elevation`` if a benchmark elevation is not a finite number.
    """
    for point, value in benchmark_elevations.items():
        if not math.isfinite(value):
            raise InputError(f"benchmark {point}: elevation {value} is not a number", code="level-elevation")
    known = dict(benchmark_elevations)
    found_from: dict[str, str] = {}
    height: dict[str, float] = {}
    order: dict[str, int] = {}  # set-ups since the benchmark, this one included
    chain: dict[str, str] = {}  # the benchmark that a set-up hangs from
    steps: list[LevelStep] = []
    repeats: list[RepeatedSight] = []
    closing: tuple[str, float] | None = None
    for index, entry in enumerate(entries):
        _check_entry(index, entry, height, known)
        if entry.kind == "backsight":
            height[entry.setup] = known[entry.point_id] + entry.rod_m
            before = found_from.get(entry.point_id)
            order[entry.setup] = 1 if before is None else order[before] + 1
            chain[entry.setup] = entry.point_id if before is None else chain[before]
            steps.append(LevelStep(index, entry, height[entry.setup], known[entry.point_id]))
            continue
        elevation = height[entry.setup] - entry.rod_m
        steps.append(LevelStep(index, entry, height[entry.setup], elevation))
        if entry.point_id in known:
            difference = elevation - known[entry.point_id]
            repeats.append(RepeatedSight(index, entry.point_id, difference))
            if entry.point_id in benchmark_elevations:
                closing = (entry.setup, difference)
        else:
            known[entry.point_id] = elevation
            found_from[entry.point_id] = entry.setup
    correction = dict.fromkeys(height, 0.0)
    if spread_closure and closing is not None:
        last, difference = closing
        for setup in height:
            if chain[setup] == chain[last]:
                correction[setup] = -difference * min(1.0, order[setup] / order[last])
    return LevelBook(
        elevation_m={
            point: value + (correction[found_from[point]] if point in found_from else 0.0)
            for point, value in known.items()
        },
        height_of_instrument_m={setup: value + correction[setup] for setup, value in height.items()},
        closure_m=None if closing is None else closing[1],
        adjusted=spread_closure and closing is not None,
        arithmetic_check_m=_arithmetic_check(steps),
        repeats=tuple(repeats),
        steps=tuple(steps),
    )


def _check_entry(index: int, entry: Entry, height: Mapping[str, float], known: Mapping[str, float]) -> None:
    where = _where(index, entry)
    if entry.kind not in get_args(EntryKind):
        raise InputError(f"{where}: the kind must be one of {get_args(EntryKind)}", code="level-kind")
    if not math.isfinite(entry.rod_m):
        raise InputError(f"{where}: rod reading {entry.rod_m} is not a number", code="level-rod")
    if entry.kind != "backsight":
        if entry.setup not in height:
            raise InputError(
                f"{where}: no backsight was taken from this set-up before; a set-up begins with one",
                code="level-no-backsight",
            )
        return
    if entry.setup in height:
        raise InputError(
            f"{where}: this set-up already has a backsight; give the second as a foresight to check it",
            code="level-two-backsights",
        )
    if entry.point_id not in known:
        raise InputError(
            f"{where}: the elevation of {entry.point_id} is not known yet; sight it first, or give it as a "
            "benchmark",
            code="level-unknown-backsight",
        )


def _arithmetic_check(steps: Sequence[LevelStep]) -> float | None:
    setups = [s.entry.setup for s in steps if s.entry.kind == "backsight"]
    ends = [s.entry.setup for s in steps if s.entry.kind in ("foresight", "turning point")]
    if not steps or sorted(setups) != sorted(ends):
        return None
    back = sum(s.entry.rod_m for s in steps if s.entry.kind == "backsight")
    fore = sum(s.entry.rod_m for s in steps if s.entry.kind in ("foresight", "turning point"))
    last = next(s for s in reversed(steps) if s.entry.kind in ("foresight", "turning point"))
    return (back - fore) - (last.elevation_m - steps[0].elevation_m)
