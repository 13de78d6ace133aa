"""Water in a well through the storm that asks most of it: rain hangs from the top, the well fills from below."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from roofwell.papers.drawing.chart import Chart, hour_ticks, length_ticks, thinned
from roofwell.papers.drawing.model import Drawing, Item, Label, Polygon, Polyline, known
from roofwell.papers.texts import Say
from roofwell.system.scheme import Well
from roofwell.system.traces import StormTrace

_HIGH_PT = 234.0
_SPILL_PT, _NO_SPILL_PT, _RAIN_PT = (
    30.0,
    10.0,
    46.0,
)  # zones over the lip: what spills stands up from it, rain hangs from the top
_GAP_PT = 12.0
_HOUR_S = 3600.0


def storm_chart(trace: StormTrace, say: Say, *, stone_m: float = math.nan) -> Drawing:
    """Return the chart: x in hours since the rain began, y the depth over the pit's bottom in m.

    ``stone_m``: depth at which the stone is full, as ``stone_depth_m`` gives it; drawn where the lip stands over it.
    """
    lip, end = trace.lip_depth_m, float(trace.time_s[-1]) / _HOUR_S
    spill_pt = _SPILL_PT if trace.spills_s is not None else _NO_SPILL_PT
    water_pt = _HIGH_PT - spill_pt - _RAIN_PT - _GAP_PT
    top = lip * _HIGH_PT / water_pt
    marks = [(f"full, at the lip: {say.distance(lip)}", lip)]
    if stone_m < lip:
        marks.append((f"stone full: {say.distance(stone_m)}", stone_m))
    if trace.inlet_depth_m is not None:
        marks.append((f"pipe comes in {say.distance(trace.inlet_depth_m)}", trace.inlet_depth_m))
    chart = Chart((0.0, end), (0.0, top), _HIGH_PT, tuple(marks))
    items: list[Item] = [*_rain(trace, chart, say), *_water(trace, chart)]
    for _, level in marks:
        items.append(
            Polyline(((0.0, level), (end, level)), "limit" if level in (lip, stone_m) else "opening")
        )
    items += _spill(trace, chart, say)
    items += chart.axis_along(hour_ticks(end))
    items += chart.axis_up(length_ticks(0.0, lip, say.style, unit_words=True))
    storm = trace.storm
    notes = [
        f"The {storm.return_period_years:g}-year storm of {say.time(storm.duration_s)}, {storm.shape}: of all its "
        f"durations the one that asks most of {trace.well}. Hours since the rain began; depths over the pit's bottom."
    ]
    if trace.start_depth_m > 0:
        notes[0] += f" The well holds {say.depth(trace.start_depth_m)} before it."
    return chart.drawing(
        name=f"storm-{trace.well}",
        title=storm_title(trace, say),
        items=items,
        says=f"Depth of water in {trace.well} through the storm. {storm_title(trace, say)}",
        notes=tuple(notes),
        over_pt=4.0,
    )


def stone_depth_m(well: Well) -> float:
    """Return how deep the water stands when a well's stone is full, m; NaN where that is not known."""
    return well.stone_top_m - well.bottom_m if known(well.stone_top_m, well.bottom_m) else math.nan


def storm_title(trace: StormTrace, say: Say) -> str:
    """Say in one sentence what the storm does to the well."""
    storm, well = trace.storm, trace.well
    years = f"the {storm.return_period_years:g}-year storm"
    if trace.spills_s is None:
        deepest = float(np.max(trace.depth_m))
        words = (
            f"{well} keeps all of {years}: {say.depth(storm.rain_m)} of rain fill it to {say.distance(deepest)}, "
            f"{say.depth(trace.lip_depth_m - deepest)} under the lip"
        )
    else:
        first, last = trace.spills_s
        words = (
            f"{well} is full {clock(first)} into {years} and spills {say.volume(storm.spilled_m3)} "
            f"over {clock(last - first)}"
        )
    if storm.refused_m3 > 0:
        words += f"; {say.volume(storm.refused_m3)} never get in"
    return words


def clock(time_s: float) -> str:
    """Return a time as hours and minutes: ``4 h 02 min``."""
    minutes = round(time_s / 60.0)
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02d} min"


def _rain(trace: StormTrace, chart: Chart, say: Say) -> Iterator[Item]:
    """Rain hanging from the top, step by step."""
    top = chart.y[1]
    deepest = float(np.max(trace.rain_m))
    count = int(np.flatnonzero(trace.rain_m)[-1]) + 1 if deepest > 0 else 0
    if not count:
        return
    step = trace.step_s / _HOUR_S
    per_m = chart.upward(_RAIN_PT) / deepest
    edge: list[tuple[float, float]] = [(0.0, top)]
    for n, rain in enumerate(trace.rain_m[:count]):
        y = top - per_m * float(rain)
        if edge[-1][1] != y:
            edge += [(n * step, edge[-1][1]), (n * step, y)]
    edge += [(count * step, edge[-1][1]), (count * step, top)]
    yield Polygon(tuple(edge), "fine", "water left", part="rain")
    yield Polyline(((0.0, top), (chart.x[1], top)), "axis")
    storm = trace.storm
    words = f"rain: {say.depth(storm.rain_m)} over {say.time(storm.duration_s)}, hardest {say.rate(deepest / trace.step_s)}"
    hardest = (float(np.argmax(trace.rain_m)) + 1.0) * step
    yield Label(
        words, (hardest, top - chart.upward(0.6 * _RAIN_PT)), "small", side="right", rank=1, leader=False
    )


def _water(trace: StormTrace, chart: Chart) -> Iterator[Item]:
    """The body of water in the well, with its surface."""
    times = [0.0, *(float(t) / _HOUR_S for t in trace.time_s)]
    depths = [trace.start_depth_m, *(float(d) for d in trace.depth_m)]
    points = list(zip(times, depths, strict=True))
    if trace.spills_s is not None and trace.storm.full_after_s is not None:  # full between two steps
        points = sorted({*points, (trace.storm.full_after_s / _HOUR_S, trace.lip_depth_m)})
    line = thinned(points, along=chart.along(0.25), upward=chart.upward(0.25))
    yield Polygon(
        (*line, (line[-1][0], 0.0), (line[0][0], 0.0)), "water", "water", edge=False, part=trace.well
    )
    yield Polyline(line, "curve", part=trace.well)


def _spill(trace: StormTrace, chart: Chart, say: Say) -> Iterator[Item]:
    """What spills, standing up from the lip, as high as it is strong; where nothing does, the highest water."""
    lip = trace.lip_depth_m
    if trace.spills_s is None:
        deepest = int(np.argmax(trace.depth_m))
        at = (float(trace.time_s[deepest]) / _HOUR_S, float(trace.depth_m[deepest]))
        words = f"highest {say.distance(at[1])}, after {clock(float(trace.time_s[deepest]))}"
        yield Label(words, at, side="under right", strong=True, rank=0)
        return
    first, last = trace.spills_s
    step = trace.step_s / _HOUR_S
    most = float(np.max(trace.spilled_m3))
    per_m3 = chart.upward(_SPILL_PT) / most
    edge: list[tuple[float, float]] = [(first / _HOUR_S, lip)]
    for n in np.flatnonzero(trace.spilled_m3 > 0):
        begin = max(first / _HOUR_S, n * step)
        wide = (n + 1) * step - begin
        # in the step in which the well becomes full all of the spill comes after that
        y = lip + per_m3 * float(trace.spilled_m3[n]) * step / wide if wide > 0 else lip
        edge += [(begin, y), ((n + 1) * step, y)]
    edge.append((last / _HOUR_S, lip))
    yield Polygon(tuple(edge), "fine", "black", edge=False, part=f"{trace.well} spill")
    peak = (int(np.argmax(trace.spilled_m3)) + 1.0) * step
    all_of_it, at_most = say.volume(trace.storm.spilled_m3), say.flow(most / trace.step_s)
    words = f"full after {clock(first)},\nspills {all_of_it}, at most {at_most}"
    yield Label(words, (peak, lip + chart.upward(0.6 * _SPILL_PT)), strong=True, side="right", rank=0)
