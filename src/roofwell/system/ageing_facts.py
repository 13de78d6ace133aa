"""A well as the years leave it, as frozen values; the step stands in ``ageing``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Care = Literal["on time", "never", "no basin", "typed"]
"""Basins emptied on time, or never; no basin on the way to the well; or a share a year typed by the person."""


@dataclass(frozen=True, slots=True)
class Ends:
    """A figure with the mildest, the best and the hardest that is known of debris and of what it does."""

    mild: float
    best: float
    hard: float


@dataclass(frozen=True, slots=True)
class AtAge:
    """A well at one age.

    ``silt_m``: thickness of the fine sediment on its floor; ``room_share`` and ``floor_share``: room, and what the floor
    passes under shallow water, over those of the new one (``floor_share`` None where the design counts no floor).
    ``soakage_share``: of all that soaks out of the full well. ``held_share``: of the design storm that loses most;
    ``drain_s``: from full to empty; ``spills_year``: a record of that age throughout, None without one.
    """

    years: float
    silt_m: Ends
    room_share: Ends
    floor_share: Ends | None
    soakage_share: Ends
    held_share: Ends
    drain_s: Ends
    spills_year: Ends | None


@dataclass(frozen=True, slots=True)
class WellAge:
    """A well with one kind of care: how it is at each age, and the year in which it no longer keeps each target.

    ``storm_lost``, ``empty_lost``, ``spills_lost``: years from new, infinite where it is not within the years sought;
    ``spills_lost`` None without that target or a record. 0: it never kept it.
    """

    well: str
    care: Care
    ages: tuple[AtAge, ...]
    storm_lost: Ends
    empty_lost: Ends
    spills_lost: Ends | None

    @property
    def lost(self) -> Ends:
        """The year in which the first of the targets is lost."""
        of = [self.storm_lost, self.empty_lost, *([self.spills_lost] if self.spills_lost is not None else [])]
        return Ends(min(e.mild for e in of), min(e.best for e in of), min(e.hard for e in of))


@dataclass(frozen=True, slots=True)
class AgeMend:
    """What one cheap part of a basin would make of a well's years, basins emptied on time, by the best figures.

    ``sump_m``: depth of its sump; ``lost``: the year in which the first target is lost; the others at the end of the life
    counted.
    """

    well: str
    basin: str
    key: str
    sump_m: float
    lost: float
    room_share: float
    silt_m: float


@dataclass(frozen=True, slots=True)
class Ageing:
    """Every well with each kind of care, ``on time`` first; ``most_years``: how far the lost year is sought.

    ``trees_known``: somebody said what stands over the roof. ``years``: ages shown. ``fabric``: wells with one on the floor.
    ``shallow_m``: depth of water at which the floor's share is told.
    """

    wells: tuple[WellAge, ...]
    mends: tuple[AgeMend, ...]
    years: tuple[float, ...]
    most_years: float
    trees_known: bool
    shallow_m: float
    fabric: tuple[str, ...] = ()

    def of(self, well: str) -> tuple[WellAge, ...]:
        """Return one well with each kind of care."""
        return tuple(one for one in self.wells if one.well == well)
