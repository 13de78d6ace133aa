"""Which values, if they are assumed, each check rests on: the "assumed" marks of findings and papers.

Paths are those of ``AssumedValue``; ``*`` stands for any part.
"""

from __future__ import annotations

from fnmatch import fnmatchcase
from functools import lru_cache

RAIN = ("settings.runoff_coefficient", "settings.cloudburst_duration", "targets.storm")
PLACE = ("layout.basin_before_well", "layout.trench_offset", "survey.benchmark_elevation", "survey.ground")
STORE = (
    "*.voids",
    "*.stone_below_m",
    "*.stone_above_m",
    "*.soakage",
    "soil.safety_factor",
    "soil.rate.low",
    "soil.rate.high",
    "soil.layers.*",
)
GROUND = ("soil.saturated_thickness", "soil.specific_yield", "soil.horizontal_conductivity")
STORM = ("settings.initial_loss", "settings.storm_duration", "settings.starting_level", "settings.event_gap")

RESTS_ON: dict[str, tuple[str, ...]] = {
    "all-roof-drained": RAIN,
    "pipe-slope": PLACE,
    "pipe-cover": (*PLACE, "settings.cover_lawn", "settings.cover_walk", "settings.cover_drive"),
    "crossing-clearance": (*PLACE, "settings.crossing_clearance"),
    "pipe-under-wheels": (*PLACE, "trench.soil_unit_weight", "*.soil_modulus", "*.pvc_modulus"),
    "cover-under-wheels": PLACE,
    "width-under-wheels": PLACE,
    "path-clear": ("layout.basin_before_well", "layout.trench_offset"),
    "snake-reach": ("layout.basin_before_well", "layout.trench_offset"),
    "snake-bends": ("layout.basin_before_well", "layout.trench_offset"),
    "levels-fit": (
        *PLACE,
        "*.drop_m",
        "settings.cover_lawn",
        "settings.cover_walk",
        "settings.cover_drive",
        "settings.crossing_clearance",
    ),
    "link-flow": (*RAIN, *STORE, "*.link_diameter_m"),
    "gutter-capacity": (*RAIN, "*.fall_m_m", "*.bottom_width_m"),
    "outlet-capacity": RAIN,
    "gutter-brim": (*RAIN, "*.fall_m_m", "*.guard_passes", "*.bottom_width_m"),
    "guard-in-cloudburst": (*RAIN, "*.guard_passes"),
    "valley-overshoot": (*RAIN, "*.below_edge_m", "*.edge_over_m"),
    "downspout-capacity": (
        *RAIN,
        "*.inside_area_m2",
        "*.inside_perimeter_m",
        "*.offset_m",
        "*.offset_drop_m",
    ),
    "pipe-capacity": RAIN,
    "pipe-velocity": PLACE,
    "body-holes": (*RAIN, "*.hole_area_m2", "*.voids"),
    "water-below-grate": (*RAIN, *PLACE, "*.joint_m", "*.open_share", "*.drop_m"),
    "water-in-storm": (*RAIN, *STORE, *STORM, *PLACE, "*.joint_m", "*.open_share", "*.drop_m"),
    "full-well-drain": ("survey.ground", "layout.trench_offset"),
    "water-below-opening": (*RAIN, *PLACE, "*.joint_m", "*.open_share", "settings.freeboard"),
    "no-standing-water": ("*.drop_m",),
    "basin-before-well": ("layout.basin_before_well",),
    "basin-capture": ("settings.runoff_coefficient",),
    "basin-sump": ("*.drop_m",),
    "basin-ports": (*PLACE, "*.drop_m"),
    "floating-kept": ("*.drop_m", "*.hood_depth_m", "settings.runoff_coefficient", "settings.initial_loss"),
    "weep-drain": (
        "*.pea_stone_*",
        "*.weep_hole_diameter_m",
        "soil.safety_factor",
        "soil.rate.*",
        "soil.layers.*",
    ),
    "ice-in-water": ("*.hood_depth_m", "*.drop_m", "survey.ground"),
    "mosquito-water": ("*.drop_m", *STORE, "*.pea_stone_*", "*.weep_hole_diameter_m"),
    "basin-emptying": ("*.drop_m", "settings.runoff_coefficient", "settings.initial_loss"),
    "stone-against-soil": ("soil.grains",),
    "fabric-opening": ("soil.grains",),
    "fabric-permittivity": ("soil.grains",),
    "fabric-flow": ("soil.rate.low", "soil.rate.high"),
    "fabric-fine-soil": ("soil.grains",),
    "top-stone": ("*.top_stone_m",),
    "storm-held": (*RAIN, *STORE, *STORM),
    "well-drain-down": (*STORE, "targets.hours_to_empty"),
    "well-in-years": (*RAIN, *STORE, *STORM, "targets.hours_to_empty"),
    "spills-a-year": (*RAIN, *STORE, *STORM),
    "fill-test": (*RAIN, *STORE, *STORM, "targets.hours_to_empty"),
    "pit-above-refusal": ("*.stone_below_m", "*.stone_above_m", "survey.ground"),
    "lawn-clear": (*RAIN, *STORE, *STORM),
    "mound-below-well": (*RAIN, *STORE, *STORM, *GROUND, "survey.ground"),
    "mound-at-wall": (*RAIN, *STORE, *STORM, *GROUND),
    "uplift": (*RAIN, *STORE, *STORM, *GROUND, "survey.ground", "*.weight_kg"),
    "soil-fast-enough": ("soil.rate.low", "soil.rate.high", "soil.layers.*"),
    "soil-slow-enough": ("soil.rate.low", "soil.rate.high", "soil.layers.*"),
    "overflow-capacity": (*RAIN, "*.open_share", "*.lid_head_m", "*.lid_travel_m"),
    "order-of-heights": ("*.joint_m", "survey.ground"),
    "exit-speed": (*RAIN, "*.open_share", "*.lid_head_m", "*.lid_travel_m"),
    "lip-under-mower": ("survey.ground",),
    "elbow-drains": ("survey.ground",),
    "spreader-length": RAIN,
    "curb-opening": RAIN,
    "overflow-over-inlet": ("survey.ground", "layout.trench_offset"),
    "overflow-below-opening": ("settings.freeboard", "survey.ground"),
    "overflow-path": (*RAIN, "survey.ground", "overland.*"),
    "blocked-below-opening": (*RAIN, *PLACE, "*.joint_m", "*.open_share", "*.drop_m"),
    "spill-below-opening": (*RAIN, "survey.ground", "overland.*", "settings.freeboard"),
    "spill-to-septic": (*RAIN, "survey.ground", "overland.*"),
    "spill-to-neighbor": (*RAIN, "survey.ground", "overland.*"),
    "spill-on-walk": (*RAIN, *STORE, "survey.ground", "overland.*"),
    "bowl-runs-in": ("survey.ground",),
    "setback": ("layout.trench_offset", "*.pea_stone_around_m"),
    "separation": ("*.stone_below_m", "*.stone_above_m", "*.pea_stone_depth_m", "survey.ground"),
    "deepest-pit": ("*.stone_below_m", "*.stone_above_m", "survey.ground"),
    "within-budget": ("settings.waste", "settings.swell", "settings.lap", "settings.stone_density"),
}


@lru_cache(maxsize=1024)
def rests_on(code: str, assumed: tuple[str, ...]) -> tuple[str, ...]:
    """Return those of some assumed paths that a check rests on, in their own order."""
    patterns = RESTS_ON.get(code, ())
    return tuple(path for path in assumed if any(fnmatchcase(path, pattern) for pattern in patterns))
