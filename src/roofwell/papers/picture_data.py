"""The lines of the pictures for another program: whole arrays in true units, to six figures."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np

from roofwell.system.traces import Traces


def picture_data(found: Traces) -> dict[str, Any]:
    """Return storms, spills, drawdowns and mounds as plain values; ``spills`` None where there is no record."""
    spills = found.spills
    return {
        "storms": [_fields(one, skip=("storm",)) for one in found.storms],
        "spills": None
        if spills is None
        else {
            "record": spills.record,
            "first": spills.first.isoformat(),
            "years": _short(spills.years),
            "at": [spill.at.isoformat() for spill in spills.spills],
            "volume_m3": [_short(spill.volume_m3) for spill in spills.spills],
        },
        "drawdowns": [_fields(one) for one in found.drawdowns],
        "mounds": [_fields(one) for one in found.mounds],
    }


def _fields(value: Any, skip: tuple[str, ...] = ()) -> dict[str, Any]:
    names = [field.name for field in dataclasses.fields(value) if field.name not in skip]
    return {name: _whole(getattr(value, name)) for name in names}


def _whole(value: Any) -> Any:
    match value:
        case None | bool() | str() | int():
            return value
        case float():
            return _short(value)
        case np.ndarray():
            return [_short(float(one)) for one in value]
        case tuple():
            return [_whole(one) for one in value]
    return _fields(value)


def _short(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None
