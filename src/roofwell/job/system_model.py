"""The parts that carry or hold our water, from the roof down. See ``model``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from roofwell.job.fields import (
    Angle,
    Area,
    Elevation,
    Frequency,
    Height,
    Id,
    Length,
    Mass,
    Outline,
    Path,
    Permittivity,
    Pitch,
    Point,
    PositiveShare,
    Share,
    Slope,
    State,
    Table,
)

Whole = Annotated[int, Field(ge=1, le=40)]


class Roof(Table):
    """``[roofs.ID]``: a roof section. Its water goes to a gutter, or sheds on a lower roof."""

    outline: Outline = ()
    plan_area: Area | None = None
    pitch: Pitch | None = None
    covering: str | None = None
    trees: Literal["none", "few", "many"] | None = None
    tree_kind: Literal["broadleaf", "needle", "both"] | None = None
    gutter: Id | None = None
    sheds_on: Id | None = None


class RoofValley(Table):
    """One entry of ``[[gutters.ID.valleys]]``: a valley that pours into the gutter at one place."""

    at: Height
    plan_area: Area
    pitch: Pitch | None = None
    splash_guard: Height | None = None


class Gutter(Table):
    """``[gutters.ID]``."""

    shape: Literal["half-round", "box", "ogee"] | None = None
    top_width: Length | None = None
    bottom_width: Length | None = None
    depth: Length | None = None
    length: Length | None = None
    fall: Slope | None = None
    guard: bool | None = None
    guard_passes: Share | None = None
    cleaned: Frequency | None = None
    freeboard: Height | None = None
    below_edge: Height | None = None
    valleys: tuple[RoofValley, ...] = ()
    state: State | None = None


class Downspout(Table):
    """``[downspouts.ID]``: takes its share of one gutter's water to the ground at ``at``."""

    gutter: Id | None = None
    at: Point | None = None
    shape: Literal["round", "rectangular"] | None = None
    diameter: Length | None = None
    width: Length | None = None
    breadth: Length | None = None
    share: Share | None = None
    along: Height | None = None
    gutter_height: Height | None = None
    outlet_diameter: Length | None = None
    outlet_width: Length | None = None
    outlet_breadth: Length | None = None
    outlet_rim: Share | None = None
    elbows: Annotated[int, Field(ge=0, le=12)] | None = None
    offset: Height | None = None
    offset_drop: Height | None = None
    corrugated: bool | None = None
    inside_area: Area | None = None
    inside_perimeter: Length | None = None
    joint: Elevation | None = None
    state: State | None = None


class Wye(Table):
    """``[wyes.ID]``: where two runs become one."""

    at: Point | None = None
    state: State | None = None


class Fitting(Table):
    """One fitting of a run, by its distance from the run's upstream end."""

    kind: Literal["elbow", "cleanout", "reducer", "coupling", "adapter"]
    station: Height
    angle: Angle | None = None


class Run(Table):
    """``[runs.ID]``: a stretch of buried pipe between two parts."""

    from_: Id | None = Field(default=None, alias="from")
    to: Id | None = None
    path: Path = ()
    pipe: str | None = None
    nominal: Length | None = None
    inside_diameter: Length | None = None
    outside_diameter: Length | None = None
    roughness: Annotated[float, Field(gt=0, lt=0.1, allow_inf_nan=False)] | None = None
    slope: Slope | None = None
    upstream_invert: Elevation | None = None
    downstream_invert: Elevation | None = None
    fittings: tuple[Fitting, ...] = ()
    bedding: str | None = None
    perforated: bool | None = None
    state: State | None = None
    condition: Literal["sound", "broken", "blocked", "not inspected"] | None = None


class Basin(Table):
    """``[basins.ID]``: keeps debris back. Heights are of inverts over the basin's floor."""

    at: Point | None = None
    shape: Literal["round", "square", "rectangular", "outline"] | None = None
    diameter: Length | None = None
    width: Length | None = None
    length: Length | None = None
    outline: Outline = ()
    floor: Elevation | None = None
    grate: Elevation | None = None
    inlet_height: Height | None = None
    outlet_height: Height | None = None
    hood: bool | None = None
    hood_depth: Height | None = None
    hood_air_hole: bool | None = None
    screen: bool | None = None
    weep_holes: Annotated[int, Field(ge=0, le=200)] | None = None
    weep_hole_diameter: Length | None = None
    pea_stone_depth: Height | None = None
    pea_stone_around: Height | None = None
    lid_held: bool | None = None
    lid_weight: Mass | None = None
    grate_opening: Length | None = None
    mosquito_screen: bool | None = None
    weight: Mass | None = None
    emptied: Frequency | None = None
    state: State | None = None


class Well(Table):
    """``[wells.ID]``: well bodies in a stone surround, or stone alone; joined at the bottom they are one store.

    ``direction`` is the way in which several bodies stand in a row, and in which pipe, chambers and a bed lie,
    counterclockwise from east. ``bodies`` counts upright bodies, or rows of lying ones.
    """

    at: Point | None = None
    body: Literal["cylinder", "perforated pipe", "arch chamber", "box chamber", "none"] | None = None
    bodies: Whole | None = None
    body_diameter: Length | None = None
    body_height: Length | None = None
    body_width: Length | None = None
    body_length: Length | None = None
    body_wall: Height | None = None
    body_voids: PositiveShare | None = None
    body_spacing: Length | None = None
    arch: Literal["parabola", "half ellipse"] | None = None
    end_caps: bool | None = None
    piece_length: Length | None = None
    hole_diameter: Length | None = None
    slot_width: Length | None = None
    hole_area: Area | None = None
    direction: Angle | None = None
    pit_shape: Literal["round", "rectangular"] | None = None
    pit_diameter: Length | None = None
    pit_length: Length | None = None
    pit_width: Length | None = None
    stone_below: Height | None = None
    stone_above: Height | None = None
    stone_depth: Length | None = None
    stone_top: Literal["buried", "surface", "lawn inlet"] | None = None
    bottom: Elevation | None = None
    inlet_invert: Elevation | None = None
    linked_to: Id | None = None
    link_invert: Elevation | None = None
    link_nominal: Length | None = None
    stone: str | None = None
    stone_shape: Literal["crushed", "rounded"] | None = None
    voids: Share | None = None
    void_ratio: Annotated[float, Field(gt=0, le=4, allow_inf_nan=False)] | None = None
    voids_from: str | None = None
    geotextile: tuple[Literal["sides", "top", "bottom"], ...] | None = None
    geotextile_class: Annotated[int, Field(ge=1, le=3)] | None = None
    geotextile_opening: Length | None = None
    geotextile_permittivity: Permittivity | None = None
    top_stone: Height | None = None
    soakage: (
        Literal[
            "bottom",
            "bottom and half sides",
            "bottom and sides",
            "sides",
            "sides half, no bottom",
            "unit gradient",
            "three-dimensional",
        ]
        | None
    ) = None
    observation_pipe: bool | None = None
    observation_cap_locked: bool | None = None
    state: State | None = None


class Overflow(Table):
    """``[overflows.ID]``: where a full well lets its water out, as a point with a lip."""

    of: Id | None = None
    kind: Literal["grate", "pop-up emitter", "splash block", "level spreader", "stone surface"] | None = None
    at: Point | None = None
    lip: Elevation | None = None
    diameter: Length | None = None
    open_share: Share | None = None
    grate_opening: Length | None = None
    grate_held: bool | None = None
    length: Length | None = None
    lid_weight: Mass | None = None
    lid_lift: Length | None = None
    low_point: Elevation | None = None
    weep_hole: bool | None = None
    to: Id | None = None
    destination: str | None = None
    path: Path = ()
    state: State | None = None


class Outlet(Table):
    """``[outlets.ID]``: another way out for the water: daylight, a curb, a storm sewer, a swale, a pump."""

    kind: Literal["daylight", "curb", "storm sewer", "swale", "rain garden", "pump"] | None = None
    at: Point | None = None
    invert: Elevation | None = None
    opening_width: Length | None = None
    opening_height: Length | None = None
    opening_diameter: Length | None = None
    guard: Literal["none", "bars", "flap"] | None = None
    tailwater: Elevation | None = None
    pad: bool | None = None
    destination: str | None = None
    allowed_by: str | None = None
    power: str | None = None
    freeze_protection: str | None = None
    state: State | None = None
