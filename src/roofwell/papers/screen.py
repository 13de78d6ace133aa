"""The drawings as a screen shows them: as large as their frame allows, inked by the page through their classes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from roofwell.design.result import Design
from roofwell.papers.drawing.full_well import full_well
from roofwell.papers.drawing.model import Drawing, Polygon, Polyline
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import section, section_ways
from roofwell.papers.drawing.scale import POINTS_PER_METER, Scale
from roofwell.papers.drawing.way import Way
from roofwell.papers.render_svg import key_picture, render
from roofwell.system.facts import Survey

BESIDE = 84.0  # room for the levels before a section and a label past its end
OVER = 44.0
OVER_LARGE = 96.0
LEAST = 40.0


@dataclass(frozen=True, slots=True)
class Column:
    """Figures at one station, one for each row; ``strong`` where a part stands."""

    cells: tuple[str, ...]
    strong: bool


@dataclass(frozen=True, slots=True)
class Figures:
    """What stands under a long section on paper, as a table: names of its rows, and its columns along the way."""

    rows: tuple[str, ...]
    columns: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class View:
    """One drawing for a screen: its SVG in CSS pixels, a sentence for who cannot see it, notes beside it.

    ``key``: what its lines and fills mean, an SVG of the same width; empty where nothing needs it.

    ``figures``: of a long section; None on a plan.

    ``along`` and ``up``: pixels a metre, so that the page finds the place under a finger; ``left`` and ``top`` are
    where the drawing's own ``x0`` (least x) and ``y1`` (greatest y) stand.
    """

    name: str
    title: str
    says: str
    svg: str
    key: str
    width: float
    height: float
    notes: tuple[str, ...]
    along: float
    up: float
    left: float
    top: float
    x0: float
    y1: float
    figures: Figures | None = None


def screen_views(
    design: Design, *, width: float, plan_height: float, section_height: float, whole: bool = True
) -> tuple[View, ...]:
    """Return the plan, then the long section of every way, the longest first, and of the pipes beside the runs.

    Parameters
    ----------
    width, plan_height, section_height
        The frames on the screen, CSS pixels; what is less than 40 counts as 40.
    whole
        Whether walls are drawn whole up to gutters whose height was measured, and not cut short.
    """
    site = _on_lawn(plan(design), design.survey)
    views = [view_of(_fitted(site, max(width, LEAST), max(plan_height, LEAST)))]
    views += [
        _section_view(design, way, width=width, height=section_height, whole=whole)
        for way in section_ways(design.scheme)
    ]
    return tuple(views)


def section_view(
    design: Design, name: str, *, width: float, height: float, whole: bool = True
) -> View | None:
    """Return one long section by its name, drawn as ``screen_views`` does; None where no way has that name."""
    way = next((way for way in section_ways(design.scheme) if name == f"profile-{way.part}"), None)
    if way is None:
        return None
    return _section_view(design, way, width=width, height=height, whole=whole)


def _section_view(design: Design, way: Way, *, width: float, height: float, whole: bool) -> View:
    drawn = _in_soil(section(design, way, whole=whole))
    return view_of(_stretched(drawn, max(width, LEAST), max(height, LEAST)), _figures(drawn))


def full_well_view(design: Design, *, width: float, height: float) -> View | None:
    """Return the full-well section, nothing stretched; None where no part of a system has a level at the house.

    Parameters
    ----------
    width, height
        Its frame on the screen, CSS pixels; what is less than 40 counts as 40.
    """
    found = full_well(design)
    if found is None:
        return None
    drawn = _in_soil(found)
    points_m = min(
        max(width - BESIDE, LEAST) / max(drawn.width_m, 0.1),
        max(height - OVER, LEAST) / max(drawn.height_m, 0.1),
    )
    high = drawn.height_m * points_m
    tall = min(high + OVER_LARGE, max(height, high + OVER))  # its one dimension is lettered large
    return view_of(place(drawn, scale=_scale(points_m), width_pt=max(width, LEAST), height_pt=tall))


def _fitted(drawing: Drawing, width: float, height: float) -> Placed:
    points_m = min((width - 8) / max(drawing.width_m, 0.1), (height - 8) / max(drawing.height_m, 0.1))
    return place(drawing, scale=_scale(points_m), width_pt=width, height_pt=height)


def _stretched(drawing: Drawing, width: float, height: float) -> Placed:
    """Along as far as the frame goes, up as far as the drawing may be stretched and the frame leaves room."""
    along = (max(width - BESIDE, LEAST)) / max(drawing.width_m, 0.1)
    room = max(height - OVER, LEAST)
    up = min(drawing.up, max(room / (max(drawing.height_m, 0.1) * along), 0.05))
    tall = drawing.height_m * up * along + OVER
    return place(replace(drawing, up=up, strip=None), scale=_scale(along), width_pt=width, height_pt=tall)


def _in_soil(section: Drawing) -> Drawing:
    """Fill the ground of a long section, down to the foot of the drawing."""
    bottom = section.bounds[1]
    soil = [
        Polygon(
            ((item.points[0][0], bottom), *item.points, (item.points[-1][0], bottom)),
            "soil",
            "haze",
            edge=False,
        )
        for item in section.items
        if isinstance(item, Polyline) and item.role in ("ground", "ground guessed") and len(item.points) > 1
    ]
    return replace(section, items=(*soil[:1], *section.items))


def _on_lawn(site: Drawing, survey: Survey) -> Drawing:
    """Fill the lot of a plan, as far as the plan shows it, where its line is known all round."""
    frame = shapely.box(*site.bounds)
    lots = [
        shapely.make_valid(shapely.Polygon(line.points)).intersection(frame)
        for line in survey.of_kind("lot line")
        if line.shape == "outline" and len(line.points) >= 3
    ]
    lawn = [
        Polygon(tuple(part.exterior.coords), "lawn", "haze", edge=False)
        for lot in lots
        for part in getattr(lot, "geoms", [lot])
        if isinstance(part, shapely.Polygon) and not part.is_empty
    ]
    return replace(site, items=(*lawn, *site.items))


def _scale(points_m: float) -> Scale:
    return Scale("", POINTS_PER_METER / points_m)


def _figures(section: Drawing) -> Figures | None:
    strip = section.strip
    if strip is None:
        return None
    columns = sorted(strip.columns, key=lambda column: column.x_m)
    return Figures(strip.rows, tuple(Column(column.cells, column.strong) for column in columns))


def view_of(placed: Placed, figures: Figures | None = None) -> View:
    """Return a placed drawing as the screen takes it."""
    drawing = placed.drawing
    return View(
        name=drawing.name,
        title=drawing.title,
        says=drawing.says or drawing.title,
        svg=render(placed),
        key=key_picture(drawing, placed.width_pt)[0] if drawing.key else "",
        width=placed.width_pt,
        height=placed.height_pt,
        notes=tuple(drawing.notes),
        along=placed.scale.points_m,
        up=placed.scale.points_m * drawing.up,
        left=placed.left_pt,
        top=placed.top_pt,
        x0=drawing.bounds[0],
        y1=drawing.bounds[3],
        figures=figures,
    )
