"""The order of heights at each well, and what its way out does, as a table of the set. Finished strings only."""

from __future__ import annotations

from typing import Any

from roofwell.design.result import Design
from roofwell.papers.texts import Say
from roofwell.system import outlet_parts, overflow_parts
from roofwell.system.heights import Height, HeightRow, height_rows
from roofwell.system.scheme import Overflow


def heights_table(design: Design) -> dict[str, Any] | None:
    """Return the rows of heights and of the ways out; None where no well overflows."""
    say = Say(design.survey.style)
    rows = height_rows(design.scheme, design.survey.lowest_opening_m)
    if not rows:
        return None
    return {
        "rows": [_row(row, design, say) for row in rows],
        "outs": [_out(overflow, design, say) for overflow in design.scheme.overflows],
    }


def _row(row: HeightRow, design: Design, say: Say) -> dict[str, str]:
    grates = {basin.id for basin in design.scheme.basins}
    joints = {spout.id for spout in design.scheme.downspouts}

    def named(group: set[str]) -> str:
        found = next((one for one in row.heights if one.id in group), None)
        return _named(found, say) if found is not None else "none"

    opening = design.survey.lowest_opening_m
    least = row.least
    words = "nothing to hold it against"
    if least is not None:
        side = "under" if least.step_m >= 0 else "over"
        upper = "the opening" if least.upper.id == "house" else least.upper.id
        words = f"{least.lower.id} {say.depth(abs(least.step_m))} {side} {upper}"
    return {
        "well": row.well,
        "lip": _named(row.heights[0], say),
        "grate": named(grates),
        "joint": named(joints),
        "opening": say.level(opening) if opening is not None else "not measured",
        "least": words,
    }


def _named(height: Height, say: Say) -> str:
    return f"{height.id} {say.level(height.level_m)}"


def _out(overflow: Overflow, design: Design, say: Say) -> dict[str, str]:
    style = design.survey.style
    well = next((one for one in design.behaviour.wells if one.id == overflow.of), None)
    over = overflow_parts.stated_head_m(overflow, style)
    tail = outlet_parts.tail_of(design.scheme, overflow.to)
    piped = overflow_parts.mouth_of(overflow) is None
    trapped = overflow_parts.trapped_depth_m(overflow)
    keeps = "drains" if trapped <= 0 else f"{say.depth(trapped)} in its elbow"
    return {
        "id": overflow.id,
        "what": overflow.called,
        "under": say.depth(over),
        "clean": say.flow(overflow_parts.capacity_m3_s(overflow, over, 0.0, tail)),
        "half": "as clean" if piped or well is None else say.flow(well.overflow_half_blocked_m3_s),
        "leaves": say.flow(well.overflow_peak_m3_s) if well is not None else "",
        "head": say.depth(well.head_over_lip_m) if well is not None else "",
        "keeps": keeps if overflow.pipe is not None and not piped else "",
    }
