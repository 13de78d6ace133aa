"""What if a part of the system does not work: one case each, as frozen values; the step stands in ``what_if``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

CaseKind = Literal[
    "screen blocked",
    "never emptied",
    "weeps plugged",
    "inlet plugged",
    "overflow blocked",
    "outlet shut",
    "pump without power",
]
WAY_OUT: frozenset[CaseKind] = frozenset({"overflow blocked", "outlet shut", "pump without power"})
"""Cases in which the last way out itself is shut: shown and warned, never judged."""


@dataclass(frozen=True, slots=True)
class Case:
    """What fails: ``part`` (a basin, a run, an overflow, an outlet), and ``of``: the part whose water then has no way on."""

    kind: CaseKind
    part: str
    of: str


@dataclass(frozen=True, slots=True)
class ComesOut:
    """Where water comes out in a case: ``what`` it is called, its edge, how high the water stands over that edge, the flow
    in the cloudburst, and all of it while the cloudburst lasts."""

    part: str
    what: str
    edge_m: float
    head_m: float
    flow_m3_s: float
    volume_m3: float


@dataclass(frozen=True, slots=True)
class CaseLine:
    """The water along one run in the cloudburst, for drawing: levels in its upper and lower part."""

    run: str
    upper_m: float
    lower_m: float


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One case: the same Scheme with one hydraulic fact changed, in the cloudburst with the wells full and in the design
    storms. Elevations and depths in m, volumes in m³.

    ``part``: what does not work, ``of`` the part that it lets water into or out of. ``joints`` and ``grates``: level at each
    downspout joint and basin grate, no lower than with everything working, for a part that is half shut lies between.
    ``house_m``: the highest of all of them, at ``house_at``; ``storm_m`` the same in the worst of the design storms.
    ``over_opening_m``: the higher of both over the lowest opening, negative below it, None where that is not known.
    ``out``: where water comes out, the lowest first, other than at the overflow. ``storm_out_m3``: what comes out so in the
    storm of ``storm_s``, the first of it ``out_after_s`` after its beginning (None: nothing). ``stays_m3``: water that
    stays between rains in basin and pipe.
    """

    letter: str
    kind: CaseKind
    part: str
    of: str
    joints: tuple[tuple[str, float], ...]
    grates: tuple[tuple[str, float], ...]
    lines: tuple[CaseLine, ...]
    house_at: str
    house_m: float
    storm_m: float
    over_opening_m: float | None
    out: tuple[ComesOut, ...]
    storm_s: float
    storm_out_m3: float
    out_after_s: float | None
    stays_m3: float = 0.0

    @property
    def way_out_works(self) -> bool:
        """Whether a full well can still let go where it should."""
        return self.kind not in WAY_OUT


@dataclass(frozen=True, slots=True)
class WhatIfs:
    """All cases of a Scheme. ``normal_m``: highest level at a joint or grate in the cloudburst with everything working.

    ``storm_years``: return period of the design storms; ``cloudburst_s``: how long the cloudburst lasts.
    """

    cases: tuple[WhatIf, ...]
    normal_m: float
    storm_years: float
    cloudburst_s: float

    @property
    def judged(self) -> tuple[WhatIf, ...]:
        """The cases in which the way out of a full well still works."""
        return tuple(case for case in self.cases if case.way_out_works)
