"""The order of heights at a well: overflow lip, basin grate, downspout joint, lowest opening of the house."""

from __future__ import annotations

from dataclasses import dataclass

from roofwell.system.scheme import Scheme


@dataclass(frozen=True, slots=True)
class Height:
    """One height of the row: whose it is, what it is in words, and its level, m."""

    id: str
    what: str
    level_m: float


@dataclass(frozen=True, slots=True)
class HeightStep:
    """From one height to the one that must lie over it, m; negative where the order is broken."""

    lower: Height
    upper: Height

    @property
    def step_m(self) -> float:
        """How much higher the upper one lies, m."""
        return self.upper.level_m - self.lower.level_m


@dataclass(frozen=True, slots=True)
class HeightRow:
    """The heights of one overflow from the lowest up, as they ought to be, and every step between them.

    ``heights``: the lip, the lowest grate and the lowest joint that lead to its well, so far as there are any, and the
    lowest opening, where it is known. ``opening_known`` says whether it is. ``opening_lowest``: the opening lies under one
    of the others, so that water would come in before it comes out there.
    """

    overflow: str
    well: str
    heights: tuple[Height, ...]
    steps: tuple[HeightStep, ...]
    opening_known: bool
    opening_lowest: bool

    @property
    def least(self) -> HeightStep | None:
        """The smallest step; None where there is nothing but the lip."""
        return min(self.steps, key=lambda step: step.step_m, default=None)


def height_rows(scheme: Scheme, lowest_opening_m: float | None) -> tuple[HeightRow, ...]:
    """Return the row of heights of every overflow.

    Each grate is held against the lip, each joint against the grates on its way (against the lip where there is none),
    and the opening against the highest of lip, lowest grate and lowest joint.
    """
    return tuple(_row(scheme, o.id, o.of, o.lip_m, lowest_opening_m) for o in scheme.overflows)


def _row(scheme: Scheme, overflow: str, well: str, lip_m: float, opening_m: float | None) -> HeightRow:
    lip = Height(overflow, f"the lip of {overflow}", lip_m)
    grates = {
        basin.id: Height(basin.id, f"the grate of {basin.id}", basin.grate_m)
        for basin in scheme.basins
        if _ends_in(scheme, basin.id, well)
    }
    joints, steps = [], [HeightStep(lip, grate) for grate in grates.values()]
    for spout in scheme.downspouts:
        if not _ends_in(scheme, spout.id, well):
            continue
        joint = Height(spout.id, f"the joint of {spout.id}", spout.joint_m)
        joints.append(joint)
        passed = [grates[run.to_id] for run in scheme.way(spout.id) if run.to_id in grates]
        steps += [HeightStep(under, joint) for under in passed or [lip]]
    heights = [lip]
    for group in (list(grates.values()), joints):
        if group:
            heights.append(min(group, key=lambda height: height.level_m))
    lowest = False
    if opening_m is not None:
        opening = Height("house", "the lowest opening of the house", opening_m)
        highest = max(heights, key=lambda height: height.level_m)
        steps.append(HeightStep(highest, opening))
        lowest = opening_m < highest.level_m
        heights.append(opening)
    return HeightRow(overflow, well, tuple(heights), tuple(steps), opening_m is not None, lowest)


def _ends_in(scheme: Scheme, part: str, well: str) -> bool:
    way = scheme.way(part)
    return bool(way) and way[-1].to_id == well
