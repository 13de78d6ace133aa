"""A full well running empty against the time it may take, with how far the soil may turn out slower or faster."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.checks.words import several
from roofwell.papers.drawing.chart import Chart, hour_ticks, length_ticks, thinned
from roofwell.papers.drawing.model import (
    XY,
    Drawing,
    Item,
    KeyMark,
    Label,
    LabelSize,
    Polygon,
    Polyline,
    Sign,
)
from roofwell.papers.texts import Say
from roofwell.system.traces import DrawdownTrace

_HIGH_PT = 210.0
_HOUR_S = 3600.0
_MOST_OF_LIMIT = 2.2  # the chart goes on no farther than so many times the limit
_FROM = {"job": "your job", "rule file": "the permit office", "assumed": "assumed"}


def drawdown_chart(
    trace: DrawdownTrace, say: Say, *, held: bool = False, stone_m: float = math.nan
) -> Drawing:
    """Return the chart: x in hours since the well was full, y the depth over the pit's bottom in m.

    ``held``: a mound holds this well's soakage back, which is not in the chart. ``stone_m``: depth at which the stone is
    full; drawn where the lip stands over it.
    """
    limit, lip = trace.limit_s / _HOUR_S, trace.lip_depth_m
    drain, slow = trace.drain_s / _HOUR_S, trace.drain_at_s(trace.slow) / _HOUR_S
    wanted = [1.12 * limit, *(1.06 * t for t in (drain, slow) if math.isfinite(t))]
    wanted += [1.04 * (r.start_s + r.well_time_s) / _HOUR_S for r in trace.readings]
    most = min(max(wanted), max(_MOST_OF_LIMIT * limit, 1.06 * drain if math.isfinite(drain) else 0.0))
    chart = Chart((0.0, most), (0.0, 1.04 * lip), _HIGH_PT, left_pt=34.0, right_pt=14.0)
    items: list[Item] = [*_band(trace, chart), *_limit(trace, chart, say)]
    items += _curves(trace, chart, say)
    items += _readings(trace)
    items += _full(chart, lip, stone_m, say)
    items += chart.axis_along(hour_ticks(most))
    items += chart.axis_up(length_ticks(0.0, lip, say.style, unit_words=True))
    title = drawdown_title(trace, say)
    return chart.drawing(
        name=f"drawdown-{trace.well}",
        title=title,
        items=items,
        says=f"Depth of water in {trace.well} while it runs empty. {title}",
        notes=_notes(trace, held=held),
        over_pt=24.0,
        key=_key(trace, say),
    )


def drawdown_title(trace: DrawdownTrace, say: Say) -> str:
    """Say in one sentence how long the full well takes, and how sure that is."""
    limit, drain = say.time(trace.limit_s), trace.drain_s
    if not trace.chance_known:
        ends = [trace.drain_at_s(speed) for speed in (trace.fast, trace.slow)]
        fast, slow = (say.time(end) if math.isfinite(end) else "never" for end in ends)
        return f"Full, {trace.well} is empty after {fast} to {slow}, for the soil is not tested; {limit} are allowed"
    if not math.isfinite(drain):
        return f"Full, {trace.well} never runs empty; {limit} are allowed"
    words = f"Full, {trace.well} is empty after {say.time(drain)}"
    words += f"; only {limit} are allowed" if drain > trace.limit_s else f" of the {limit} allowed"
    if trace.within_limit is not None:
        words += f"; {chances(trace.within_limit)} that the soil is fast enough"
    return words


def chances(share: float) -> str:
    """Return a chance in hundredths, never none and never all."""
    return f"{min(99, max(1, round(100 * share)))} chances in 100"


def _curve(trace: DrawdownTrace, chart: Chart, speed: float) -> tuple[XY, ...]:
    """The way down at so many times the design's rate, cut where the chart ends."""
    if not math.isfinite(trace.drain_s) or speed <= 0:
        return ((0.0, trace.lip_depth_m), (chart.x[1], trace.lip_depth_m))
    points = [
        (float(t) / speed / _HOUR_S, float(d)) for t, d in zip(trace.time_s, trace.depth_m, strict=True)
    ]
    out: list[XY] = []
    for x, y in points:
        if x > chart.x[1]:
            ax, ay = out[-1]
            out.append((chart.x[1], ay + (y - ay) * (chart.x[1] - ax) / (x - ax)))
            break
        out.append((x, y))
    return thinned(out, along=chart.along(0.2), upward=chart.upward(0.2))


def _band(trace: DrawdownTrace, chart: Chart) -> Iterator[Item]:
    slow, fast = _curve(trace, chart, trace.slow), _curve(trace, chart, trace.fast)
    foot = ((chart.x[1], 0.0),) if slow[-1][0] >= chart.x[1] - 1e-9 else ()
    yield Polygon((*slow, *foot, *reversed(fast)), "fine", "water", edge=False, part="soil")
    for line in (slow, fast):
        yield Polyline(line, "fine", part="soil")


def _limit(trace: DrawdownTrace, chart: Chart, say: Say) -> Iterator[Item]:
    limit = trace.limit_s / _HOUR_S
    top = chart.y[1] + chart.upward(8.0)
    yield Polyline(((limit, 0.0), (limit, top)), "limit")
    words = f"empty by {say.time(trace.limit_s)}: {_FROM.get(trace.limit_from, trace.limit_from)}"
    yield Label(words, (limit, top), side="over", rank=0, strong=True, leader=False)


def _curves(trace: DrawdownTrace, chart: Chart, say: Say) -> Iterator[Item]:
    known, say_time = trace.chance_known, say.time
    if trace.tested != 1.0:
        yield Polyline(_curve(trace, chart, trace.tested), "opening", part="as tested")
    yield Polyline(_curve(trace, chart, 1.0), "curve", part=trace.well)
    for speed in dict.fromkeys((1.0, trace.slow, trace.tested, trace.fast)):
        time = trace.drain_at_s(speed)
        if time / _HOUR_S < chart.x[1]:
            own = speed == 1.0
            size: LabelSize = "normal" if own else "small"
            at = (time / _HOUR_S, 0.0)
            yield Label(
                say_time(time), at, size, strong=own, side="over right", rank=0 if own else 3, needed=False
            )
        elif speed == trace.slow and known:
            line = _curve(trace, chart, speed)
            yield Label(f"to {say_time(time)}", line[-1], "small", side="over left", rank=3, needed=False)


def _full(chart: Chart, lip: float, stone: float, say: Say) -> Iterator[Item]:
    """The lip, and under it the top of the stone where only the riser is full over that."""
    at, end = chart.along(6.0), chart.x[1]
    yield Polyline(((0.0, lip), (end, lip)), "limit")
    words = f"full, at the lip: {say.distance(lip)}"
    yield Label(words, (at, lip), "small", side="over right", rank=2, leader=False)
    if stone < lip:
        yield Polyline(((0.0, stone), (end, stone)), "limit")
        words = f"stone full: {say.distance(stone)}"
        yield Label(words, (at, stone), "small", side="over right", rank=2, leader=False)


def _key(trace: DrawdownTrace, say: Say) -> tuple[KeyMark, ...]:
    def time(speed: float) -> str:
        found = trace.drain_at_s(speed)
        return say.time(found) if math.isfinite(found) else "never"

    over = f", a safety factor of {trace.tested:g} on the soil" if trace.tested != 1.0 else ""
    ends = f"{time(trace.fast)} to {time(trace.slow)}"
    out = [KeyMark(f"as designed{over}: {time(1.0)}", "curve")]
    if trace.tested != 1.0:
        out.append(KeyMark(f"without that factor: {time(trace.tested)}", "opening"))
    out.append(
        KeyMark(
            f"8 chances in 10: {ends}" if trace.chance_known else f"range of such soils: {ends}",
            "fine",
            "water",
        )
    )
    return tuple(out)


def _readings(trace: DrawdownTrace) -> Iterator[Item]:
    """What a filled hole did, from where the well as tested has the same water."""
    for n, reading in enumerate(trace.readings, 1):
        start = (reading.start_s / _HOUR_S, reading.start_m)
        end = ((reading.start_s + reading.well_time_s) / _HOUR_S, reading.end_m)
        yield Polyline((start, end), "water full", part=reading.test)
        yield Sign(start, "shot", part=reading.test)
        yield Sign(end, "shot", part=reading.test)
        yield Label(f"{reading.test}, fill {n}", end, "small", side="right", rank=2)


def _notes(trace: DrawdownTrace, *, held: bool) -> tuple[str, ...]:
    if trace.chance_known:
        what = "The chances are those of soil that scatters from place to place about its tests."
    else:
        what = "Nobody has tested this soil; test it, and the band narrows."
    out = [f"Hours since the well was full, no rain after it. {what}"]
    if trace.readings:
        stone = any(abs(r.well_time_s - r.time_s) > 0.01 * r.time_s for r in trace.readings)
        out.append(
            "Dots: the hole itself, filled and timed"
            + (", its times shortened to what the stone leaves of its room." if stone else ".")
        )
    if trace.beside:
        out.append(f"Not drawn: {several(trace.beside)}.")
    if held:
        out.append("A mound on the groundwater holds this well back at times; that is not in these curves.")
    return tuple(out)
