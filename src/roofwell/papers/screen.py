"""The drawings as a screen shows them: as large as their frame allows, inked by the page through their classes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from roofwell.design.result import Design
from roofwell.papers.drawing.model import Drawing
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.scale import POINTS_PER_METER, Scale
from roofwell.papers.drawing.strip import strip_height_pt
from roofwell.papers.drawing.way import joins
from roofwell.papers.render_svg import key_picture, render

BESIDE = 150.0  # room for the names of a section's figures and a label past its end
OVER = 44.0
LEAST = 40.0


@dataclass(frozen=True, slots=True)
class View:
    """One drawing for a screen: its SVG in CSS pixels, a sentence for who cannot see it, notes beside it.

    ``key``: what its lines and fills mean, an SVG of the same width; empty where nothing needs it.

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


def screen_views(
    design: Design, *, width: float, plan_height: float, section_height: float
) -> tuple[View, ...]:
    """Return the plan, then the long section of every way, the longest first.

    Parameters
    ----------
    width, plan_height, section_height
        The frames on the screen, CSS pixels; what is less than 40 counts as 40.
    """
    site = plan(design)
    views = [_view(_fitted(site, max(width, LEAST), max(plan_height, LEAST)))]
    for spout in joins(design.scheme):
        section = profile(design, spout)
        views.append(_view(_stretched(section, max(width, LEAST), max(section_height, LEAST))))
    return tuple(views)


def _fitted(drawing: Drawing, width: float, height: float) -> Placed:
    points_m = min((width - 8) / max(drawing.width_m, 0.1), (height - 8) / max(drawing.height_m, 0.1))
    return place(drawing, scale=_scale(points_m), width_pt=width, height_pt=height)


def _stretched(drawing: Drawing, width: float, height: float) -> Placed:
    """Along as far as the frame goes, up as far as the drawing may be stretched and the frame leaves room."""
    strip = strip_height_pt(drawing.strip) if drawing.strip is not None else 14.0
    along = (max(width - BESIDE, LEAST)) / max(drawing.width_m, 0.1)
    room = max(height - OVER - strip, LEAST)
    up = min(drawing.up, max(room / (max(drawing.height_m, 0.1) * along), 0.05))
    tall = drawing.height_m * up * along + OVER + strip
    return place(replace(drawing, up=up), scale=_scale(along), width_pt=width, height_pt=tall)


def _scale(points_m: float) -> Scale:
    return Scale("", POINTS_PER_METER / points_m)


def _view(placed: Placed) -> View:
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
    )
