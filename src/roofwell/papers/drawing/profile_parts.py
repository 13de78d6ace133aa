"""What stands along a long section: pipes with cover and inverts, downspouts, basins, wells, utilities."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell.papers.drawing.model import (
    Circle,
    Dimension,
    Hatch,
    Item,
    Label,
    Polygon,
    Polyline,
    Sign,
    WaterSurface,
    known,
    rectangle,
)
from roofwell.papers.drawing.way import Way, pit_along, slope_of
from roofwell.papers.drawing.way_water import WayWater
from roofwell.papers.drawing.well_body import foot_m, has_riser, head_m, side_boxes
from roofwell.papers.texts import Say
from roofwell.system.origin import Origin
from roofwell.system.scheme import Basin, Run, Scheme, Well

SMALLEST_SEEN_M = 0.06
"""A buried line thinner than this is marked by a dot of fixed size; it would not be seen at scale."""


def run_items(way: Way, index: int, scheme: Scheme, say: Say, *, covered: bool) -> Iterator[Item]:
    """Yield one run: its two walls, name and slope; its least cover where the ground is known (``covered``)."""
    run, start = way.runs[index], way.starts_m[index]
    if not known(slope_of(run), run.inside_diameter_m):
        middle = (start + 0.5 * run.length_m, way.ground_at(start) - 0.5)
        if known(*middle):
            yield Label(f"{run.id}: levels not known", middle, strong=True, side="on", rank=3, part=run.id)
        return
    end = start + run.length_m
    state: Origin = scheme.origin.get(f"{run.id}.inside_diameter_m", "designed")
    low, high = (run.upstream_invert_m, run.downstream_invert_m), run.inside_diameter_m
    yield Polyline(((start, low[0]), (end, low[1])), "pipe", state, run.id)
    yield Polyline(((start, low[0] + high), (end, low[1] + high)), "pipe", state, run.id)
    falls = say.slope(slope_of(run)) if low[0] != low[1] else "level"
    words = f"{run.id}  {say.size(run.nominal_m)}, {falls}"
    yield Label(words, (0.5 * (start + end), 0.5 * sum(low)), strong=True, side="under", rank=3, part=run.id)
    least = _least_cover(run)
    if covered and least is not None:
        at, cover = least
        crown = run.invert_at(run.stations_m[at]) + run.inside_diameter_m + run.wall_m
        x = start + min(max(run.stations_m[at], 0.08 * run.length_m), 0.92 * run.length_m)
        if run.length_m > 2.5 and cover > 0:
            yield Dimension((x, crown), (x, crown + cover), f"cover {say.depth(cover)}", run.id)


def _least_cover(run: Run) -> tuple[int, float] | None:
    """Return the station (its index) where the cover is nearest to its least, and the cover there, m."""
    spare = [
        (run.cover_at(n) - (least if known(least) else 0.0), n)
        for n, least in enumerate(run.cover_least_m)
        if known(run.cover_at(n))
    ]
    if not spare:
        return None
    at = min(spare)[1]
    return at, run.cover_at(at)


def spout_items(scheme: Scheme, way: Way, water: WayWater) -> Iterator[Item]:
    """Yield the downspout at the head of the way and the wyes along it."""
    spout = next((s for s in scheme.downspouts if s.id == way.part), None)
    run = way.runs[0] if way.runs else None
    if spout is not None:
        foot = run.upstream_invert_m if run is not None else spout.joint_m
        top = max((z for z in (spout.ground_m, spout.joint_m) if known(z)), default=foot)
        half = max(0.05, 0.5 * (run.inside_diameter_m if run is not None else 0.1))
        if known(foot, top):
            if run is not None and known(water.still.get(run.id, float("nan"))):
                level = min(water.still[run.id], top)
                if level > foot:
                    yield Polygon(
                        rectangle(-half, foot, half, level), "water", "water", part=spout.id, edge=False
                    )
            for x in (-half, half):
                yield Polyline(((x, foot), (x, top + 0.10)), "wall", part=spout.id)
        if known(top):
            yield Label(
                spout.id, (0.0, top + 0.10), strong=True, boxed=True, side="over", rank=0, part=spout.id
            )
    for wye in scheme.wyes:
        at = way.station_of(wye.id)
        level = way.ground_at(at) if at is not None else float("nan")
        if at is not None and known(level):
            yield Polyline(
                ((at, wye.invert_m if known(wye.invert_m) else level), (at, level)), "fine", part=wye.id
            )
            yield Label(wye.id, (at, level), strong=True, boxed=True, side="over", rank=1, part=wye.id)


def basin_items(basin: Basin, way: Way, water: WayWater, say: Say) -> Iterator[Item]:
    """Yield a basin on the way: walls, floor, grate, and the water that stands in it."""
    at = way.station_of(basin.id)
    if at is None or not known(basin.outlet_invert_m, basin.width_m):
        return
    floor = basin.floor_m if known(basin.floor_m) else basin.outlet_invert_m - 0.3
    grate = basin.grate_m if known(basin.grate_m) else way.ground_at(at)
    half = basin.width_m / 2
    if not known(grate):
        yield Label(f"{basin.id}: levels not known", (at, basin.outlet_invert_m), rank=1, part=basin.id)
        return
    yield Polygon(rectangle(at - half, floor, at + half, grate), "wall", "sheet", part=basin.id, edge=False)
    left = min(basin.outlet_invert_m, grate) if basin.weep_holes == 0 else floor
    full = min(max(left, water.lip_m), grate)
    if full > left:
        yield Polygon(
            rectangle(at - half, left, at + half, full), "water", "water", part=basin.id, edge=False
        )
    if left > floor:
        box = rectangle(at - half, floor, at + half, left)
        yield Polygon(box, "water left", "water left", part=basin.id, edge=False)
    yield Polyline(((at - half, full), (at + half, full)), "water", part=basin.id)
    state: Origin = "designed" if known(basin.floor_m, basin.grate_m) else "missing"
    yield Polyline(
        ((at - half, grate), (at - half, floor), (at + half, floor), (at + half, grate)),
        "wall",
        state,
        basin.id,
    )
    yield Polyline(((at - half - 0.04, grate), (at + half + 0.04, grate)), "wall", "given", basin.id)
    yield Label(basin.id, (at, grate), strong=True, boxed=True, side="over", rank=0, part=basin.id)
    yield Label(
        f"grate {say.level(basin.grate_m)}",
        (at + half, grate),
        "small",
        side="over right",
        rank=5,
        part=basin.id,
    )
    yield Label(
        f"floor {say.level(basin.floor_m)}", (at, floor), "small", side="under", rank=5, part=basin.id
    )


def outlet_items(scheme: Scheme, way: Way, say: Say) -> Iterator[Item]:
    """Yield the mark of the outlet at the end of the way."""
    end = way.runs[-1].to_id if way.runs else ""
    outlet = next((one for one in scheme.outlets if one.id == end), None)
    level = way.runs[-1].downstream_invert_m if way.runs else float("nan")
    if outlet is None or not known(level):
        return
    x = way.length_m
    yield Label(outlet.id, (x, level), strong=True, boxed=True, side="right", rank=0, part=outlet.id)
    words = f"{outlet.kind}, inside bottom {say.level(outlet.invert_m)}"
    yield Label(words, (x, level), "small", side="under right", rank=4, part=outlet.id, needed=False)


def end_items(well: Well, scheme: Scheme, way: Way, say: Say, *, upstream: bool = False) -> Iterator[Item]:
    """Yield the well at the end of the way, or with ``upstream`` at its beginning; its stone and bodies full to the lip."""
    first, near, far, bodies = pit_along(way.runs[0 if upstream else -1], well, upstream=upstream)
    end = 0.0 if upstream else way.length_m
    ground = well.ground_m if known(well.ground_m) else way.ground_at(end)
    if not known(well.bottom_m, well.stone_top_m):
        inverts = [run.downstream_invert_m for run in way.runs if known(run.downstream_invert_m)]
        level = ground - 0.4 if known(ground) else inverts[-1] if inverts else 0.0
        yield Label(
            f"{well.id}: levels not known", (end, level), strong=True, side="on", rank=1, part=well.id
        )
        return
    stone = rectangle(end + near, well.bottom_m, end + far, well.stone_top_m)
    wet = min(well.lip_m, well.stone_top_m) if known(well.lip_m) else well.bottom_m
    yield Polygon(stone, "fine", "sheet", part=well.id, edge=False)
    if wet > well.bottom_m:
        yield Polygon(
            rectangle(end + near, well.bottom_m, end + far, wet), "water", "water", part=well.id, edge=False
        )
    yield Hatch(stone, "stone", well.id)
    yield Polygon(stone, "geotextile", part=well.id)
    foot, head = foot_m(well), head_m(well)
    for left, right in side_boxes(well, end, bodies):
        box = rectangle(left, foot, right, head)
        level = min(well.lip_m, head) if known(well.lip_m) else foot
        yield Polygon(box, "wall", "sheet", part=well.id, edge=False)
        if level > foot:
            yield Polygon(rectangle(left, foot, right, level), "water", "water", part=well.id, edge=False)
        yield Polygon(box, "wall", part=well.id)
    overflow = scheme.overflow_of(well.id)
    if overflow is not None and known(overflow.lip_m) and overflow.lip_m > head:
        half = max(overflow.diameter_m / 2, 0.06)
        x = end + first
        if has_riser(well, overflow) and overflow.pipe is None:
            yield Polygon(
                rectangle(x - half, head, x + half, overflow.lip_m),
                "water",
                "water",
                part=overflow.id,
                edge=False,
            )
            for side in (-half, half):
                yield Polyline(((x + side, head), (x + side, overflow.lip_m)), "wall", part=overflow.id)
        else:
            half = min(half, 0.5 * (far - near))
        yield WaterSurface((x - half, overflow.lip_m), (x + half, overflow.lip_m), overflow.id)
        words = f"full: lip {say.level(overflow.lip_m)}"
        yield Label(
            words, (x + half, overflow.lip_m), "small", strong=True, side="right", rank=2, part=overflow.id
        )
    if known(ground):
        x = end + 0.5 * (near + far) + (0.0 if overflow is None else 0.28 * (far - near))
        yield Label(well.id, (x, ground), strong=True, boxed=True, side="over", rank=0, part=well.id)
    yield Label(
        f"bottom {say.level(well.bottom_m)}",
        (end + 0.5 * (near + far), well.bottom_m),
        "small",
        side="under",
        rank=4,
        part=well.id,
    )


def crossing_items(
    run: Run, start: float, bounds: tuple[float, float, float, float], say: Say
) -> Iterator[Item]:
    """Yield the buried lines that the run crosses; dots and a question mark where depth is not known."""
    for crossing in run.crossings:
        x = start + crossing.station_m
        top, bottom = crossing.top_m, crossing.bottom_m
        if top is not None and known(top):
            if bottom is not None and known(bottom) and top - bottom > SMALLEST_SEEN_M:
                yield Circle(
                    (x, 0.5 * (top + bottom)), 0.5 * (top - bottom), "ink", "black", part=crossing.id
                )
            else:
                yield Sign((x, top), "buried", 0.0, crossing.id)
            words = f"{crossing.id} {crossing.label}, top {say.level(top)}"
            yield Label(words, (x, top), "small", side="right", rank=3, part=crossing.id)
        else:
            low, high = bounds[1] + 0.25 * (bounds[3] - bounds[1]), bounds[3] - 0.3 * (bounds[3] - bounds[1])
            yield Polyline(((x, low), (x, high)), "utility", part=crossing.id)
            yield Sign((x, low), "unknown", 0.0, crossing.id)
            yield Label(
                f"{crossing.id} {crossing.label} at {say.station(x)}: how deep?",
                (x, low),
                "small",
                side="right",
                rank=2,
                part=crossing.id,
            )


def cleanout_items(run: Run, start: float, way: Way, say: Say) -> Iterator[Item]:
    """Yield the cleanouts of a run: the riser from the pipe's crown to the ground, its plug and station."""
    half = 0.5 * run.inside_diameter_m
    for fitting in run.fittings:
        if fitting.kind != "cleanout":
            continue
        x = start + fitting.station_m
        crown, ground = run.invert_at(fitting.station_m) + run.inside_diameter_m, way.ground_at(x)
        if not known(crown, ground, half) or ground <= crown:
            continue
        for side in (-half, half):
            yield Polyline(((x + side, crown), (x + side, ground)), "wall", part=run.id)
        yield Polyline(((x - half, ground), (x + half, ground)), "wall", part=run.id)
        yield Label(f"cleanout {say.station(x)}", (x, ground), "small", side="over", rank=4, part=run.id)
