"""The site plan: lot, house, what lies in the ground already, and our system from roof to well."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator

import shapely

from roofwell.design.result import Design
from roofwell.papers.drawing.model import (
    XY,
    Circle,
    Drawing,
    Hatch,
    Item,
    Label,
    Pipe,
    Polygon,
    Polyline,
    Ring,
    Sign,
    Utility,
    along,
    bounds_of,
    known,
)
from roofwell.papers.drawing.surroundings import feature_items, middle_of
from roofwell.papers.drawing.troubles import rings_at, troubles
from roofwell.papers.drawing.way import slope_of
from roofwell.papers.drawing.way_over_ground import way_over_ground
from roofwell.papers.texts import Say
from roofwell.system.scheme import Basin, Overflow, OverflowPipe, Run, Scheme, Well

MARGIN_M = 0.8
NEIGHBORHOOD_M = 9.0
_SPOUT_M = 0.16
_WORDS_WIDE = 30  # characters of a line that says where an overflow's water goes


def plan(design: Design) -> Drawing:
    """Return the site plan of a Design; of an open range the smallest scheme, with the pits of the largest."""
    survey, scheme = design.survey, design.scheme
    say = Say(survey.style)
    window, cropped = _window(design, scheme)
    items: list[Item] = []
    for feature in {one.id: one for one in (*survey.features, *survey.neighbors)}.values():
        items += feature_items(feature, say)
    for building in survey.buildings:
        if len(building.outline) > 2:
            items.append(Polygon(building.outline, "house", "sheet", part=building.id))
    for roof in survey.roofs:
        if len(roof.outline) > 2:
            items.append(Polygon(roof.outline, "roof", part=roof.id))
            words = f"{roof.id}  {say.area(roof.plan_area_m2)}"
            items.append(Label(words, middle_of(roof.outline), "small", side="on", rank=7, part=roof.id))
    over = design.behaviour.overland
    for way in over.ways if over is not None else ():
        items += way_over_ground(way, say)
    items += _system(scheme, say)
    other_end = design.scheme_large if scheme is not design.scheme_large else None
    if other_end is not None and not _same_pits(scheme, other_end):
        items += _largest(other_end)
    for letter, at in corner_letters(design).items():
        items.append(Label(letter, at, "small", side="over left", rank=7, leader=False))
    for shot in survey.shots:
        if shot.at is not None and shot.ground:
            items.append(Sign(shot.at, "shot"))
            items.append(
                Label(say.level(shot.elevation_m), shot.at, "small", side="right", rank=8, leader=False)
            )
    items += _rings(design, scheme)
    items = list(_cut(items, window))
    notes = []
    if cropped:
        notes.append("What lies farther away is cut off at the edge of this plan.")
    if not survey.ground_known:
        notes.append("The ground was not measured: no ground elevations are shown.")
    if other_end is not None and other_end.wells and not _same_pits(scheme, other_end):
        notes.append("Dash and dot: the wells at the other end of the range that is open.")
    if over is not None and any(way.points for way in over.ways):
        notes.append(
            "Dashed with an arrow: the way of the overflow's water over the ground, its depth and width in the cloudburst."
        )
    if over is not None and any(way.drawn is not None and not way.drawn.follows for way in over.ways):
        notes.append(
            "Thin, with long dashes: a way of that water as the job draws it, which the shots do not bear out."
        )
    if troubles(design):
        notes.append(
            "A number in a ring is the one of the nine answers that this part keeps from being good."
        )
    notes.append(
        f"Ground elevations and pipe levels in {say.level_unit}; a cross marks where the ground was shot."
    )
    return Drawing(
        name="plan",
        title="Site plan",
        items=tuple(items),
        bounds=window,
        says="Site plan: house, lot, buried lines, downspouts, pipes, basins, wells and overflow.",
        notes=tuple(notes),
    )


def corner_letters(design: Design) -> dict[str, XY]:
    """Return the corners of the house by the small letters from which parts are taped."""
    outline = next((b.outline for b in design.survey.buildings if 3 <= len(b.outline) <= 12), ())
    return {"abcdefghijkl"[n]: corner for n, corner in enumerate(outline)}


def _system(scheme: Scheme, say: Say) -> Iterator[Item]:
    for well in scheme.wells:
        yield from _well(well, scheme)
    for link in scheme.links:
        origin = scheme.origin.get(f"{link.of}.link_diameter_m", "designed")
        yield Pipe(link.path, link.outside_diameter_m, origin, link.id)
        words = f"link {link.id}  {say.size(link.nominal_m)}, level at {say.elevation(link.invert_m)}"
        yield Label(words, along(link.path, 0.5)[0], strong=True, side="under", rank=3, part=link.id)
    for run in scheme.runs:
        yield from _run(run, scheme, say)
    for basin in scheme.basins:
        yield from _basin(basin)
    for wye in scheme.wyes:
        yield Circle(wye.at, 0.09, "wall", "black", part=wye.id)
        yield Label(wye.id, wye.at, strong=True, side="under", rank=2, part=wye.id)
    for overflow in scheme.overflows:
        if overflow.pipe is not None:
            yield from _overflow_pipe(overflow, overflow.pipe, scheme, say)
        yield from _overflow(overflow, say)
    for outlet in scheme.outlets:
        way = next((pipe for pipe in scheme.buried if pipe.to_id == outlet.id), None)
        direction = along(way.path, 1.0)[1] if way is not None and len(way.path) > 1 else 0.0
        yield Sign(outlet.at, "spill", direction, outlet.id)
        yield Label(
            f"{outlet.id} {outlet.kind}", outlet.at, strong=True, side="under", rank=1, part=outlet.id
        )
    for spout in scheme.downspouts:
        x, y = spout.at
        half = _SPOUT_M / 2
        corners = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
        yield Polygon(corners, "wall", "black", part=spout.id)
        yield Label(spout.id, spout.at, strong=True, boxed=True, rank=0, part=spout.id)


def _same_pits(scheme: Scheme, other: Scheme) -> bool:
    """Say whether both ends of a range dig the same pits: then there is no other outline to draw."""
    return [well.pit_corners for well in scheme.wells] == [well.pit_corners for well in other.wells]


def _largest(scheme: Scheme) -> Iterator[Item]:
    """The wells at the other end of a range that is still open, as outlines."""
    for well in scheme.wells:
        yield Polygon(well.pit_corners, "largest", part=well.id)
        corner = max(well.pit_corners, key=lambda at: (at[1], at[0]))
        yield Label(f"{well.id} at its largest", corner, "small", side="over", rank=3, part=well.id)


def part_places(scheme: Scheme) -> dict[str, XY]:
    """Return where every part but the runs stands on plan."""
    out: dict[str, XY] = {part.id: part.at for part in scheme.downspouts}
    out |= {part.id: part.at for part in scheme.wyes}
    out |= {part.id: part.at for part in scheme.basins}
    out |= {part.id: part.at for part in scheme.wells}
    out |= {part.id: part.at for part in scheme.overflows}
    out |= {part.id: part.at for part in scheme.outlets}
    return out


def _rings(design: Design, scheme: Scheme) -> Iterator[Item]:
    """Yield the number of each answer that is not good, at the part that causes it."""
    places = part_places(scheme)
    places |= {run.id: along(run.path, 0.5)[0] for run in scheme.runs if run.path}
    found = ((places[subject], n, failing) for subject, n, failing in troubles(design) if subject in places)
    yield from rings_at(found)


def _well(well: Well, scheme: Scheme) -> Iterator[Item]:
    corners = well.pit_corners
    origin = scheme.origin.get(f"{well.id}.at", "designed")
    yield Polygon(corners, "fine", "sheet", part=well.id, edge=False)
    yield Hatch(corners, "stone", well.id)
    yield Polygon(corners, "geotextile" if well.geotextile else "pit", part=well.id, state=origin)
    for outline in well.body_outlines:
        yield Polygon(outline, "wall", "sheet", origin, well.id)
    if well.body == "cylinder":
        for center in well.body_centers:
            yield Circle(center, well.body_diameter_m / 2, "wall", "sheet", origin, well.id)
    yield Label(well.id, well.pit_center, "large", strong=True, boxed=True, side="over", rank=1, part=well.id)


def _run(run: Run, scheme: Scheme, say: Say) -> Iterator[Item]:
    origin = scheme.origin.get(f"{run.id}.inside_diameter_m", "designed")
    yield Pipe(run.path, run.outside_diameter_m, origin, run.id)
    middle, direction = along(run.path, 0.5)
    if run.length_m > 1.5:
        for share in (0.25, 0.75) if run.length_m > 12 else (0.72,):
            at, direction = along(run.path, share)
            yield Sign(at, "flow", direction, run.id)
    for fitting in run.fittings:
        if "cleanout" in fitting.kind and run.length_m > 0:
            at, _ = along(run.path, min(1.0, max(0.0, fitting.station_m / run.length_m)))
            yield Sign(at, "cleanout", 0.0, run.id)
            yield Label("cleanout", at, "small", side="under", rank=6, part=run.id)
    words = f"{run.id}  {say.size(run.nominal_m)}, {say.slope(slope_of(run))}"
    yield Label(words, middle, strong=True, side="under", rank=3, part=run.id)
    for crossing in run.crossings:
        if run.length_m > 0:
            at, _ = along(run.path, min(1.0, max(0.0, crossing.station_m / run.length_m)))
            if crossing.top_m is None:
                yield Sign(at, "unknown", 0.0, crossing.id)


def _basin(basin: Basin) -> Iterator[Item]:
    half = basin.width_m / 2
    x, y = basin.at
    if basin.shape != "round":
        outline: tuple[XY, ...] = basin.outline or (
            (x - half, y - half),
            (x + half, y - half),
            (x + half, y + half),
            (x - half, y + half),
        )
        yield Polygon(outline, "wall", "sheet", part=basin.id)
    else:
        outline = tuple(
            (x + half * math.cos(math.tau * n / 24), y + half * math.sin(math.tau * n / 24))
            for n in range(24)
        )
        yield Circle(basin.at, half, "wall", "sheet", part=basin.id)
    yield Hatch(outline, "grate", basin.id)
    yield Label(basin.id, basin.at, strong=True, boxed=True, side="over", rank=1, part=basin.id)


def _overflow_pipe(overflow: Overflow, pipe: OverflowPipe, scheme: Scheme, say: Say) -> Iterator[Item]:
    """The pipe to an overflow that stands beside its pit, or on to its outlet."""
    origin = scheme.origin.get(f"{overflow.id}.diameter_m", "designed")
    yield Pipe(pipe.path, pipe.inside_diameter_m, origin, overflow.id)
    at, direction = along(pipe.path, 0.7)
    yield Sign(at, "flow", direction, overflow.id)
    slope = f", {say.slope(pipe.slope_m_m)}" if overflow.to is not None else ""
    words = f"{overflow.id}  {say.size(pipe.inside_diameter_m)}{slope}"
    yield Label(words, along(pipe.path, 0.5)[0], strong=True, side="under", rank=3, part=overflow.id)


def _overflow(overflow: Overflow, say: Say) -> Iterator[Item]:
    half = max(overflow.diameter_m / 2, 0.1) if overflow.kind != "stone surface" else 0.1
    x, y = overflow.at
    corners = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
    yield Polygon(corners, "wall", "sheet", part=overflow.id)
    yield Polygon(
        tuple((x + 0.5 * (a - x), y + 0.5 * (b - y)) for a, b in corners), "wall", "black", part=overflow.id
    )
    where = overflow.to or overflow.destination
    words = f"{overflow.id} {overflow.called}, lip {say.level(overflow.lip_m)}"
    spills = f"spills: {where}" if where else "spills: where to is not said"
    words += "\n" + textwrap.fill(spills, _WORDS_WIDE, break_long_words=False)
    yield Label(words, overflow.at, "small", side="under", rank=3, part=overflow.id)


def _window(design: Design, scheme: Scheme) -> tuple[tuple[float, float, float, float], bool]:
    """Return the rectangle to draw (the whole lot, or what is near the system) and whether it is cut."""
    ours: list[XY] = [point for building in design.survey.buildings for point in building.outline]
    ours += [point for roof in design.survey.roofs for point in roof.outline]
    ours += [point for run in scheme.runs for point in run.path]
    ours += [point for well in scheme.wells for point in well.pit_corners]
    ours += part_places(scheme).values()
    all_points = ours + [point for feature in design.survey.features for point in feature.points]
    if not ours:
        ours = all_points
    left, bottom, right, top = bounds_of(ours)
    near = (left - NEIGHBORHOOD_M, bottom - NEIGHBORHOOD_M, right + NEIGHBORHOOD_M, top + NEIGHBORHOOD_M)
    full = bounds_of(all_points)
    cut = (max(near[0], full[0]), max(near[1], full[1]), min(near[2], full[2]), min(near[3], full[3]))
    whole = max(full[2] - full[0], full[3] - full[1]) <= 1.7 * max(right - left, top - bottom)
    x0, y0, x1, y1 = full if whole else cut
    return (x0 - MARGIN_M, y0 - MARGIN_M, x1 + MARGIN_M, y1 + MARGIN_M), not whole and cut != full


def _cut(items: Iterable[Item], window: tuple[float, float, float, float]) -> Iterator[Item]:
    """Yield the items with what lies outside the window cut away."""
    left, bottom, right, top = window
    for item in items:
        match item:
            case Polyline():
                if any(not (left <= x <= right and bottom <= y <= top) for x, y in item.points):
                    pieces = shapely.clip_by_rect(shapely.LineString(item.points), *window)
                    for piece in getattr(pieces, "geoms", [pieces]):
                        if not piece.is_empty and piece.geom_type == "LineString":
                            yield Polyline(
                                tuple((x, y) for x, y in piece.coords), item.role, item.state, item.part
                            )
                else:
                    yield item
            case Utility():
                pieces = shapely.clip_by_rect(shapely.LineString(item.points), *window)
                for piece in getattr(pieces, "geoms", [pieces]):
                    if not piece.is_empty and piece.geom_type == "LineString":
                        yield Utility(tuple((x, y) for x, y in piece.coords), item.letter, item.part)
            case Polygon():
                if any(not (left <= x <= right and bottom <= y <= top) for x, y in item.points):
                    pieces = shapely.clip_by_rect(shapely.make_valid(shapely.Polygon(item.points)), *window)
                    for piece in getattr(pieces, "geoms", [pieces]):
                        if not piece.is_empty and piece.geom_type == "Polygon":
                            ring = tuple((x, y) for x, y in piece.exterior.coords)[:-1]
                            yield Polygon(ring, item.role, item.fill, item.state, item.part, item.edge)
                else:
                    yield item
            case Circle() | Label() | Sign() | Ring():
                if known(*item.at) and left <= item.at[0] <= right and bottom <= item.at[1] <= top:
                    yield item
            case _:
                yield item
