"""What lies in the stone of a well and how large it is: given, else chosen; and its pit on plan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from roofwell import tables
from roofwell.job import model
from roofwell.physics.well.shapes import ARCH_CURVES, ArchCurve, Bodies, BodyKind
from roofwell.system import stone_and_fabric
from roofwell.system.choice import WellChoice
from roofwell.system.facts import Survey
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import StoneTop
from roofwell.system.trench_parts import default_part
from roofwell.units import Quantity

STORES = (
    "body_diameter",
    "body_height",
    "body_length",
    "pit_diameter",
    "pit_width",
    "pit_length",
    "stone_depth",
)
WIDTH_KEY = {
    "cylinder": "body_diameter",
    "perforated pipe": "body_diameter",
    "arch chamber": "body_width",
    "box chamber": "body_width",
    "none": None,
}
"""What the document calls the size across of each body."""


@dataclass(frozen=True, slots=True)
class PitPlan:
    """A pit on plan, m. ``row_m``: how much longer than wide it is, so far as its place goes by it."""

    shape: Literal["round", "rectangular"]
    length_m: float
    width_m: float
    row_m: float
    body_length_m: float
    spacing_m: float


@dataclass(frozen=True, slots=True)
class WellSizes:
    """All sizes of a well but its levels."""

    bodies: Bodies
    end_caps: bool
    piece_m: float
    spacing_m: float
    hole_m: float
    hole_area_m2: float
    below_m: float
    above_m: float
    voids: float
    pit: PitPlan
    reaches: StoneTop

    @property
    def area_m2(self) -> float:
        """Area of the pit on plan, m²."""
        if self.pit.shape == "round":
            return math.pi * self.pit.width_m**2 / 4
        return self.pit.length_m * self.pit.width_m

    @property
    def perimeter_m(self) -> float:
        """Perimeter of the pit on plan, m."""
        if self.pit.shape == "round":
            return math.pi * self.pit.width_m
        return 2 * (self.pit.length_m + self.pit.width_m)


def kind_of(given: model.Well) -> BodyKind:
    """Return what lies in the stone: upright bodies, unless the job says another thing."""
    return given.body or "cylinder"


def surfaced(given: model.Well) -> bool:
    """Say whether the stone comes up to the lawn."""
    return given.stone_top in ("surface", "lawn inlet")


def across(given: model.Well) -> Quantity | None:
    """Return the given size across of a body: diameter, span or width."""
    key = WIDTH_KEY[kind_of(given)]
    return getattr(given, key) if key is not None else None


def pit_plan(given: model.Well, choice: WellChoice, survey: Survey) -> PitPlan:
    """Return the pit of a well on plan; its place and every other step go by this."""
    kind, around = kind_of(given), 2 * choice.stone_around_m
    count = _count(given, choice)
    width = _or(across(given), choice.body.diameter_m)
    clear = tables.assumption("body-spacing-clear", survey.style).value_si
    spacing = _or(given.body_spacing, width + clear)
    if kind == "cylinder":
        row = (count - 1) * spacing
        alone = count == 1 and given.pit_length is None and given.pit_width is None
        if (given.pit_shape or ("round" if alone else "rectangular")) == "round":
            across_m = _or(given.pit_diameter, width + around)
            return PitPlan("round", across_m, across_m, row, 0.0, spacing)
        pit_width = _or(given.pit_width, width + around)
        return PitPlan(
            "rectangular", _or(given.pit_length, row + width + around), pit_width, row, 0.0, spacing
        )
    if kind == "none":
        if given.pit_shape == "round" or given.pit_diameter is not None:
            across_m = _or(given.pit_diameter, around)
            return PitPlan("round", across_m, across_m, 0.0, 0.0, 0.0)
        pit_width, length = _or(given.pit_width, around), _or(given.pit_length, choice.length_m)
        return PitPlan("rectangular", length, pit_width, max(0.0, length - pit_width), 0.0, 0.0)
    within = given.pit_length.value_si - around if given.pit_length is not None else choice.length_m
    body_length = _or(given.body_length, max(within, 0.1))
    pit_width = _or(given.pit_width, (count - 1) * spacing + width + around)
    length = _or(given.pit_length, body_length + around)
    return PitPlan("rectangular", length, pit_width, max(0.0, length - pit_width), body_length, spacing)


def body_top_over_bottom_m(given: model.Well, choice: WellChoice, survey: Survey) -> float:
    """Return how high the top of the body, or of stone alone, stands over the pit's bottom, m."""
    if kind_of(given) == "none":
        return _or(given.stone_depth, _chosen_below(choice, survey))
    below = _or(given.stone_below, _chosen_below(choice, survey))
    return below + height_m(given, choice)


def height_m(given: model.Well, choice: WellChoice) -> float:
    """Return the height of a body, m; of a lying pipe its diameter."""
    match kind_of(given):
        case "perforated pipe":
            return _or(given.body_diameter, choice.body.diameter_m)
        case "none":
            return 0.0
        case _:
            return _or(given.body_height, choice.body.height_m)


def sizes(given: model.Well, choice: WellChoice, survey: Survey, id: str, ledger: Ledger) -> WellSizes:
    """Return all sizes of a well, and write down where each comes from."""
    kind, plan = kind_of(given), pit_plan(given, choice, survey)

    def pick(name: str, quantity: Quantity | None, value: float, field: str | None = None) -> float:
        path = f"{id}.{field or name + '_m'}"
        if quantity is None and given.state == "existing" and name in STORES:
            ledger.lack("wells.size")
            ledger.origin[path] = "missing"
            return value
        return ledger.given(path, quantity.value_si) if quantity is not None else ledger.designed(path, value)

    ledger.origin[f"{id}.body"] = "given" if given.body is not None else "designed"
    width, height, wall = 0.0, 0.0, 0.0
    if kind != "none":
        width = pick("body_diameter", across(given), choice.body.diameter_m)
        quantity = given.body_diameter if kind == "perforated pipe" else given.body_height
        height = pick("body_height", quantity, height_m(given, choice))
        wall = choice.body.wall_m if across(given) is None else 0.0
        if given.body_wall is not None:
            wall = ledger.given(f"{id}.body_wall_m", given.body_wall.value_si)
        wall = min(wall, 0.49 * width, 0.49 * height)
        ledger.origin[f"{id}.bodies"] = "given" if given.bodies else "designed"
        pick("body_spacing", given.body_spacing, plan.spacing_m)
    lies = kind not in ("cylinder", "none")
    if lies:
        length_given = given.body_length if given.body_length is not None else given.pit_length
        pick("body_length", length_given, plan.body_length_m)
        if length_given is not None:
            ledger.given(f"{id}.body_length_m", plan.body_length_m)
    if kind == "none":
        below = pick("stone_depth", given.stone_depth, _chosen_below(choice, survey), "stone_below_m")
        above = 0.0
    else:
        if choice.stone_below_m is not None and given.stone_below is None:
            below = ledger.designed(f"{id}.stone_below_m", choice.stone_below_m)
        else:
            below = ledger.value(given.stone_below, f"{id}.stone_below_m", "stone-below")
        above = ledger.value(given.stone_above, f"{id}.stone_above_m", "stone-above")
    ledger.origin[f"{id}.pit_shape"] = "given" if given.pit_shape else "designed"
    if plan.shape == "round":
        pick("pit_diameter", given.pit_diameter, plan.width_m, "pit_width_m")
    else:
        pick("pit_width", given.pit_width, plan.width_m)
        pick("pit_length", given.pit_length, plan.length_m)
    bodies = Bodies(
        kind=kind,
        count=_count(given, choice),
        width_m=width,
        height_m=height,
        length_m=plan.body_length_m,
        wall_m=wall,
        own_voids=_own_voids(given, wall, id, ledger),
        curve=_curve(given, survey, id, ledger),
    )
    hole, hole_area = _holes(given, choice, bodies, id, ledger)
    return WellSizes(
        bodies=bodies,
        end_caps=given.end_caps if given.end_caps is not None else True,
        piece_m=_or(given.piece_length, choice.body.piece_m),
        spacing_m=plan.spacing_m,
        hole_m=hole,
        hole_area_m2=hole_area,
        below_m=below,
        above_m=above,
        voids=stone_and_fabric.voids(given, f"{id}.voids", ledger),
        pit=plan,
        reaches=given.stone_top or "buried",
    )


def _or(quantity: Quantity | None, otherwise: float) -> float:
    return quantity.value_si if quantity is not None else otherwise


def _count(given: model.Well, choice: WellChoice) -> int:
    return 0 if kind_of(given) == "none" else given.bodies or choice.bodies


def _chosen_below(choice: WellChoice, survey: Survey) -> float:
    if choice.stone_below_m is not None:
        return choice.stone_below_m
    return tables.assumption("stone-below", survey.style).value_si


def _own_voids(given: model.Well, wall_m: float, id: str, ledger: Ledger) -> float:
    """Open share of a box's inside: all of it where it has walls, a lattice's where it has none."""
    if kind_of(given) != "box chamber":
        return 1.0
    if given.body_voids is None and wall_m > 0:
        return 1.0
    return ledger.value(given.body_voids, f"{id}.body_voids", "box-voids")


def _curve(given: model.Well, survey: Survey, id: str, ledger: Ledger) -> ArchCurve:
    if kind_of(given) != "arch chamber":
        return "parabola"
    ledger.origin[f"{id}.arch"] = "given" if given.arch is not None else "assumed"
    if given.arch is not None:
        return given.arch
    usual = default_part("arch", survey)
    return next(curve for curve in ARCH_CURVES if curve == usual)


def _holes(
    given: model.Well, choice: WellChoice, bodies: Bodies, id: str, ledger: Ledger
) -> tuple[float, float]:
    """Diameter of a hole, and open area of all holes of one body; 0 for stone alone and an open lattice."""
    if bodies.kind == "none" or (
        bodies.kind == "box chamber" and given.hole_area is None and given.hole_diameter is None
    ):
        return 0.0, 0.0
    hole, path = _or(given.hole_diameter, choice.body.hole_diameter_m), f"{id}.hole_area_m2"
    if hole > 0:
        ledger.origin[f"{id}.hole_diameter_m"] = "given" if given.hole_diameter is not None else "designed"
    if given.hole_area is not None:
        return hole, ledger.given(path, given.hole_area.value_si)
    if bodies.kind == "perforated pipe":
        return hole, bodies.length_m * ledger.assume(path, "pipe-holes")
    apart = ledger.assume(path, "hole-spacing")
    if bodies.kind == "cylinder":
        rows, round_it = bodies.height_m / apart, math.pi * bodies.width_m / apart
    else:
        rows, round_it = 2 * bodies.height_m / apart, bodies.length_m / apart
    count = max(1, math.floor(rows + 1e-6)) * max(1, math.floor(round_it + 1e-6))
    return hole, count * math.pi * hole**2 / 4
