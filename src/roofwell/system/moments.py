"""One storm, moment by moment: how high the water stands in pipes, basins and wells, from its first rain to the last of it.

The storm is the one of all durations that asks most of the well that spills most, or stands deepest; where there is no
well, the longest, whose middle is as hard as every shorter one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from roofwell.physics.well import storage
from roofwell.system import levels, side_water
from roofwell.system.behaviour import Behaviour, FloatArray, RunFlow, WellBehaviour
from roofwell.system.facts import Survey
from roofwell.system.gutter_moments import GutterNow, gutter_now
from roofwell.system.leaving import out_above_m3_s
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import net_rate_m_s, storm_durations_s, storm_of, storm_step_s
from roofwell.system.traces import rerun

EVENLY, CLOSE, AFTER = 24, 8, 10
"""Moments spread over the rain, each way from its hardest step, and from its end until the well is empty: as many as a thumb
tells apart on a phone."""


@dataclass(frozen=True, slots=True)
class Moment:
    """The highest that water stands within one step of the storm.

    ``time_s``: end of the step, from the first rain. ``rain_m_s``: on the roof. ``well_m``, ``part_m``: elevation of
    the water in each well, and where each run begins; ``spills_m3_s``: over the lip of each well, less
    what came out of its pipes before; ``out_m3_s``: out of joints and grates. ``runs``: every run that leads anywhere.
    ``side_pipes``: the pipes of overflows and links. ``gutters``: by downspout, of those whose gutter has sizes.
    """

    time_s: float
    rain_m_s: float
    well_m: Mapping[str, float]
    part_m: Mapping[str, float]
    runs: Mapping[str, RunFlow]
    spills_m3_s: Mapping[str, float]
    out_m3_s: Mapping[str, float]
    side_pipes: Mapping[str, RunFlow]
    gutters: Mapping[str, GutterNow]


@dataclass(frozen=True, slots=True)
class StormMoments:
    """One storm through the whole system.

    ``well``: the one that it asks most of, empty where there is none. Arrays have a value for each step, shape (n,):
    end of the step, s; rain of the step, m; depth of the water in ``well`` at the step's end, m. ``lip_depth_m``: 0
    without a well. ``moments``: some of the steps, in their order.
    """

    well: str
    return_period_years: float
    duration_s: float
    shape: str
    lip_depth_m: float
    time_s: FloatArray
    rain_m: FloatArray
    depth_m: FloatArray
    moments: tuple[Moment, ...]


def storm_moments(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, *, every: bool = False
) -> StormMoments | None:
    """Return the storm moment by moment; None where no run leads anywhere or sizes are missing.

    ``every``: a moment for each step, not only for those that tell the storm.
    """
    if not levels.trees(scheme) or not survey.settings or not all(well.layers for well in scheme.wells):
        return None
    well, duration = _chosen(behaviour) or ("", storm_durations_s(survey)[-1])
    run = rerun(scheme, survey, behaviour)[1] if scheme.wells else None
    step, storm = storm_step_s(survey, duration), storm_of(survey, duration)
    net = net_rate_m_s(survey, storm.depth_m, step)
    traces = (
        () if run is None else run.storm(duration, run.held(run.record()) if run.reached() else None).traces
    )
    start = (
        ()
        if run is None
        else [survey.settings["starting_level"] * float(s.volume_m3[-1]) for s in run.stores]
    )
    path = levels.storm_path(
        scheme,
        () if run is None else run.stores,
        traces,
        duration_s=duration,
        step_s=step,
        rate_m_s=net,
        start_m3=start,
    )
    ends = [trace.volume_end_m3 for trace in traces]
    wet = path.rate_m_s.size
    empty = [] if run is None else [store.empty_m3 for store in run.stores]
    count = max([storm.depth_m.size, *(_until_empty(*pair) for pair in zip(ends, empty, strict=True))])
    rain = np.concatenate([storm.depth_m, np.zeros(max(0, count - storm.depth_m.size))])[:count]
    depth = {
        one.id: storage.depth_of_volume_m(
            one.layers, np.clip(end[:count], 0.0, storage.full_volume_m3(one.layers))
        )
        for one, end in zip(scheme.wells, ends, strict=True)
    }
    taken = {flow.id: flow for flow in behaviour.downspouts}
    spouts = [(spout, taken[spout.id]) for spout in scheme.downspouts if spout.id in taken]
    found = []
    for n in range(count) if every else _steps(rain, wet, count):
        after = n >= wet
        tail = {
            one.id: one.bottom_m + float(depth[one.id][n]) if after else float(path.tail_m[one.id][n])
            for one in scheme.wells
        }
        over = {one.id: 0.0 if after else float(path.over_lip_m3_s[one.id][n]) for one in scheme.wells}
        rate = 0.0 if after else float(path.rate_m_s[n])
        runs, parts, out = levels.at_step(
            scheme,
            behaviour.downspouts,
            rate_m_s=rate,
            tail_m=tail,
            over_lip_m3_s=over,
        )
        left = {
            id: max(0.0, flow - out_above_m3_s(scheme, scheme.linked_with(id), out))
            for id, flow in over.items()
        }
        found.append(
            Moment(
                time_s=step * (n + 1),
                rain_m_s=float(rain[n]) / step,
                well_m=tail,
                part_m=parts,
                runs=runs,
                spills_m3_s=left,
                out_m3_s=out,
                side_pipes=side_water.side_flows(scheme, well_m=tail, leaves_m3_s=left),
                gutters={
                    spout.id: now
                    for spout, flow in spouts
                    if (now := gutter_now(spout, flow, rate)) is not None
                },
            )
        )
    own = next((one for one in scheme.wells if one.id == well), None)
    return StormMoments(
        well=well,
        return_period_years=survey.targets.storm_years,
        duration_s=duration,
        shape=survey.storm_shape,
        lip_depth_m=own.layers[-1].top_m if own is not None else 0.0,
        time_s=np.asarray(step * np.arange(1, count + 1), dtype=np.float64),
        rain_m=rain,
        depth_m=depth[well] if own is not None else np.zeros(count),
        moments=tuple(found),
    )


def _chosen(behaviour: Behaviour) -> tuple[str, float] | None:
    """The well that is asked most, and the duration that asks it; None where no well was followed."""
    judged = [(_asked(well), n, well) for n, well in enumerate(behaviour.wells) if well.critical is not None]
    if not judged:
        return None
    well = max(judged)[2]
    assert well.critical is not None
    return well.id, well.critical.duration_s


def _asked(well: WellBehaviour) -> tuple[float, float]:
    storm = well.critical
    assert storm is not None
    return storm.spilled_m3 + storm.refused_m3, storm.peak_depth_m


def _until_empty(volume_m3: FloatArray, empty_m3: float) -> int:
    wet = np.flatnonzero(volume_m3 > empty_m3)
    return int(wet[-1]) + 2 if wet.size else 0


def _steps(rain_m: FloatArray, wet: int, count: int) -> Sequence[int]:
    """Steps that tell the storm: evenly through the rain, each one about its hardest, evenly until all is empty."""
    hardest = int(np.argmax(rain_m))
    rained = int(np.flatnonzero(rain_m)[-1]) + 1 if np.any(rain_m > 0) else wet
    evenly = np.linspace(0, rained - 1, EVENLY).round().astype(int).tolist()
    close = range(max(0, hardest - CLOSE), min(rained, hardest + CLOSE + 1))
    after = np.linspace(rained, count - 1, AFTER).round().astype(int).tolist() if count > rained else []
    return sorted({n for n in (*evenly, *close, *after) if 0 <= n < count})
