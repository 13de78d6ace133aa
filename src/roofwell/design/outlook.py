"""What another choice for a well would do, by the well's own physics, while all else stays as in a Scheme judged already.

The pit is laid out, its soakage curve drawn and the judged Scheme's own governing storm run through it, by the model of
soakage that is in force. All of it only puts choices in order and passes over such as would not do: what a storm or an
emptying comes to is held against the finding that judged it, never against a target of its own, and no choice is
accepted by it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from roofwell.checks.finding import Finding
from roofwell.checks.holds import BY_OFFICE
from roofwell.design.judging import Inputs, Judged
from roofwell.design.ladder import extent
from roofwell.physics import network
from roofwell.physics.well import storage
from roofwell.system import well_parts
from roofwell.system.behaviour import FloatArray, OfficeCount, WellBehaviour
from roofwell.system.choice import Choice, WellChoice
from roofwell.system.dug_by import trench_width_m
from roofwell.system.groundwater import rise_beside
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import SoakageModel, Well
from roofwell.system.soakage_models import soakage_curve
from roofwell.system.storm_run import net_rate_m_s, storm_of
from roofwell.system.well_record import inflow_of
from roofwell.system.well_store import empty_m3
from roofwell.takeoff.digging import trench_bottom_m

SLACK = 0.03
"""What an outlook may be off, as a share of the limit: storm and emptying are taken beside their judged values."""
LEVEL_SLACK_M = 0.02
OF_THE_LEVEL = ("separation", "deepest-pit", "pit-above-refusal", "mound-below-well")
MORE_ROOM = ("spills-a-year", "lawn-clear")


@dataclass(frozen=True, slots=True)
class Rung:
    """One choice with its pit laid out; ``digs_m3``: what the pit takes, less the trenches within it."""

    option: WellChoice
    well: Well
    digs_m3: float


def rungs(inputs: Inputs, judged: Judged, id: str, options: Sequence[WellChoice]) -> tuple[Rung, ...]:
    """Return choices for a well, laid out at the levels of a judged Scheme, least digging first, ties by key."""
    made = [_rung(inputs, judged, id, option) for option in options]
    return tuple(sorted(made, key=lambda rung: (rung.digs_m3, rung.option.body.key, rung.option.bodies)))


def _rung(inputs: Inputs, judged: Judged, id: str, option: WellChoice) -> Rung:
    scheme = judged.scheme
    now = _part(judged, id)
    overflow = scheme.overflow_of(id)
    place = Layout({id: now.at}, (), (), (), (id,), (), (), {id: now.direction_rad})
    well = well_parts.well(
        inputs.job,
        inputs.survey,
        place,
        id,
        Choice({id: option}),
        ground_m=now.ground_m,
        inlet_m=None if math.isnan(now.inlet_invert_m) else now.inlet_invert_m,
        inside_m=max((run.inside_diameter_m for run in scheme.runs_to(id)), default=0.1),
        full_m=now.lip_m,
        riser_m=overflow.diameter_m if overflow is not None else 0.1,
        ledger=Ledger(inputs.survey.style),
    )
    pit = well.layers[0].pit_area_m2 * max(0.0, well.ground_m - well.bottom_m)
    return Rung(option, well, pit - _spared_m3(inputs, judged, well))


def _spared_m3(inputs: Inputs, judged: Judged, well: Well) -> float:
    """What need not be dug of the trenches that end in a pit, because they lie within it, m³."""
    settings = inputs.survey.settings
    within = 0.5 * min(well.pit_length_m, well.pit_width_m)
    return sum(
        trench_width_m(run.outside_diameter_m, settings)
        * max(0.0, well.ground_m - trench_bottom_m(run, run.length_m, settings))
        * within
        for run in judged.scheme.runs_to(well.id)
    )


class Outlook:
    """What the choices for one well would do beside a judged Scheme; figures are kept from question to question."""

    def __init__(self, inputs: Inputs, id: str, rate_m_s: float) -> None:
        self._inputs, self._id, self._rate = inputs, id, rate_m_s
        self._stores: dict[tuple[WellChoice, SoakageModel], network.Store] = {}
        self._drains: dict[tuple[WellChoice, SoakageModel], float] = {}
        self._needs: dict[tuple[WellChoice, SoakageModel, float], float] = {}
        self._rain: dict[float, tuple[FloatArray, float]] = {}
        self._asked: tuple[Judged, list[Finding]] | None = None

    def shortfall(self, judged: Judged, now: Rung, rung: Rung, *, enough: float = math.inf) -> float:
        """Return how far a choice would be from meeting what judges the well, in parts of the limits; 0: it may do.

        ``now``: the choice that was judged; ``enough``: no need to add up further than this.
        """
        total = 0.0
        for finding in self._asks(judged):
            total += self._of(judged, finding, now, rung)
            if total > enough:
                break
        return total

    def _asks(self, judged: Judged) -> list[Finding]:
        """The findings that judge the well, those that fail first."""
        if self._asked is None or self._asked[0] is not judged:
            found = [
                finding
                for finding in sorted(judged.findings, key=lambda f: f.spare >= 0 or math.isnan(f.spare))
                if finding.subject.split(" ")[0] == self._id
                and not math.isnan(finding.spare)
                # what an office has to be asked for fails nothing
                and (finding.verdict != "unknown" or finding.code == "mound-below-well")
            ]
            self._asked = judged, found
        return self._asked[1]

    def _of(self, judged: Judged, finding: Finding, now: Rung, rung: Rung) -> float:
        if finding.code in ("storm-held", "well-drain-down"):
            return self._by_count(judged, finding, now, rung)
        if finding.code in OF_THE_LEVEL:
            up = rung.well.bottom_m - now.well.bottom_m
            if finding.code == "mound-below-well":
                up += self._mound_falls_m(judged, now, rung)
            return max(0.0, -finding.spare - up - LEVEL_SLACK_M)
        if finding.code in MORE_ROOM and finding.spare < 0:
            full, was = (storage.full_volume_m3(well.layers) for well in (rung.well, now.well))
            return max(0.0, 1.0 - full / was) + (full <= was)
        if finding.code == "setback" and finding.spare < 0:
            style = self._inputs.survey.style
            return float(extent(rung.option, style) >= extent(now.option, style))
        return 0.0

    def _by_count(self, judged: Judged, finding: Finding, now: Rung, rung: Rung) -> float:
        """What a choice would be short of a storm or an emptying, in parts of the limit, by the count that judged it."""
        behaviour = judged.behaviour.well(self._id)
        office = finding.subject.endswith(BY_OFFICE)
        of: WellBehaviour | OfficeCount | None = behaviour.by_office if office else behaviour
        if of is None or (finding.code == "storm-held" and of.critical is None):
            return 0.0
        figures = []
        for each in (now, rung):
            model = each.well.office_soakage or each.well.soakage if office else each.well.soakage
            if finding.code == "well-drain-down":
                figures.append(self._drain_s(each, model))
            elif of.critical is not None:
                full = float(self._store(each, model).volume_m3[-1])
                figures.append(self._needs_m3(judged, each, model, of.critical.duration_s) / full)
        was, comes = figures
        beside = math.isfinite(was) and math.isfinite(finding.value) and was > 0
        value = finding.value * comes / was if beside else comes
        return min(5.0, max(0.0, value / finding.limit - 1.0 - SLACK)) if math.isfinite(value) else 5.0

    def _store(self, rung: Rung, model: SoakageModel) -> network.Store:
        key = rung.option, model
        if key not in self._stores:
            well = replace(rung.well, soakage=model)
            volume, above, below = soakage_curve(self._inputs.survey.soil, well, self._rate)
            self._stores[key] = network.Store(volume, above, below, empty_m3=empty_m3(well))
        return self._stores[key]

    def _drain_s(self, rung: Rung, model: SoakageModel) -> float:
        key = rung.option, model
        if key not in self._drains:
            store = self._store(rung, model)
            self._drains[key] = network.drain_time_s(store, float(store.volume_m3[-1]))
        return self._drains[key]

    def _needs_m3(self, judged: Judged, rung: Rung, model: SoakageModel, duration_s: float) -> float:
        """What a well would have to hold of the storm of a duration, its pipes taken as bringing all of it, m³."""
        key = rung.option, model, duration_s
        if key not in self._needs:
            store, survey = self._store(rung, model), self._inputs.survey
            if duration_s not in self._rain:
                storm = storm_of(survey, duration_s)
                column = [well.id for well in judged.scheme.wells].index(self._id)
                rate = net_rate_m_s(survey, storm.depth_m, storm.step_s)
                arriving, _ = inflow_of(judged.scheme, judged.behaviour.downspouts)(rate)
                self._rain[duration_s] = np.ascontiguousarray(arriving[:, [column]]), storm.step_s
            arriving, step = self._rain[duration_s]
            start = survey.settings["starting_level"] * float(store.volume_m3[-1])
            (trace,) = network.simulate([store], arriving, step_s=step, start_m3=[start])
            self._needs[key] = float(trace.volume_peak_m3.max() + trace.spilled_m3.sum())
        return self._needs[key]

    def _mound_falls_m(self, judged: Judged, now: Rung, rung: Rung) -> float:
        """How much lower the mound would be under another choice that soaks as much away, m."""
        mound = judged.behaviour.well(self._id).mound
        if mound is None:
            return 0.0
        ends = [float(self._store(each, each.well.soakage).soakage_m3_s[-1]) for each in (now, rung)]
        measured = self._rate * self._inputs.survey.soil.safety_factor
        share = rise_beside(
            self._inputs.survey, (now.well, rung.well), ends, measured_m_s=measured, mound=mound
        )
        return mound.rise_m * (1.0 - share)


def _part(judged: Judged, id: str) -> Well:
    return next(well for well in judged.scheme.wells if well.id == id)
