"""Sentences about stone and fabric: what it does well, what it lets past, the cheap part that mends it."""

from __future__ import annotations

from roofwell import tables
from roofwell.checks.register import Context
from roofwell.physics.well.filter import Against
from roofwell.system.grains import Grains
from roofwell.system.scheme import Well
from roofwell.system.stone_and_fabric import chosen_stone
from roofwell.system.well_words import cloth_faces
from roofwell.tables import fabrics
from roofwell.tables.stones import nearest_stone, stone_named, stones
from roofwell.units import Style, show_percent


def no_such_stone(well: Well) -> str:
    """Say that no table has a stone of this name, which ones it has, and which is nearest."""
    near = nearest_stone(well.stone)
    hint = f"; nearest is {near}" if near is not None else ""
    return (
        f'No gradation is known of the stone "{well.stone}" of {well.id}: known are {", ".join(stones())}{hint}. Whether '
        "it stays out of holes and keeps the soil back cannot be said."
    )


def coarser(context: Context, well: Well) -> str:
    """Name a stone that stays out of the openings of a well even where its load is a fine one."""
    slot = well.slot_width_m
    found = stone_named(chosen_stone(context.survey, 0.0 if slot else well.hole_diameter_m, slot))
    return found.what if found is not None else "coarser stone"


def bare(well: Well, faces: tuple[str, ...], holds: bool, style: Style) -> str:
    """Say how stone without cloth does against the soil."""
    where = " and ".join(faces)
    if holds:
        return f"The stone of {well.id} lies against bare soil ({where}) that is coarse enough to bridge between the stones."
    deeper = "; the groundwater rises into it" if "bottom" in faces else ""
    return (
        f"The stone of {well.id} lets water through freely and lies against bare soil ({where}{deeper}) that is too fine to "
        f"bridge between the stones: soil can wash in, fill voids and leave hollows; how much cannot be said. "
        f"Geotextile there keeps it out."
    )


def permeable(ratio: Against, soil: Grains) -> str:
    """Say the third rule, for the specialist, where the soil's D15 is known."""
    if soil.d15_m is None:
        return ""
    least = tables.limit("filter-permeable-ratio")
    word = "passes" if ratio.d15_over_d15 >= least.value_si else "does not pass"
    return f"; D15 over D15 {ratio.d15_over_d15:.0f}, at least {least.text}: {word} water freely"


def opening(opening_m: float, style: Style) -> str:
    """Write an opening of a fabric as its sheet has it."""
    return fabrics.opening_words(opening_m, style)


def permittivity(value_per_s: float) -> str:
    """Write a permittivity."""
    return f"{value_per_s:.3g} per s"


def fines(soil: Grains) -> str:
    """Say how fine a soil is, and where that is from."""
    if soil.fines is None:
        return "of unknown texture"
    share = show_percent(soil.fines.best)
    if soil.fines.low == soil.fines.high:
        return f"of which {share} passes No. 200"
    ends = f"{show_percent(soil.fines.low)} to {show_percent(soil.fines.high)}"
    return f"of {' and '.join(soil.textures)} ({ends} passes No. 200)"


def lined(well: Well) -> str:
    """Say where the cloth lies, and what is said for and against one on the bottom."""
    where = f"Geotextile: {cloth_faces(well)}."
    if "bottom" in well.geotextile:
        return (
            f"{where} On the bottom it keeps stone and soil apart, as some offices want; silt that settles there can blind "
            "it; nobody publishes by how much, so nothing is taken off the new well's soakage."
        )
    return f"{where} Silt cannot blind a cloth on a bare bottom; some offices want one there all the same."
