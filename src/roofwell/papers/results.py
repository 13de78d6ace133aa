"""``results.json``: everything that a Design says, for another program; its form is told in docs/results.md.

No NaN and no infinity ever stands in it: what is not known is null.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from functools import cache
from typing import Any

import numpy as np

from roofwell.design.result import Design
from roofwell.papers.drawing.way import slope_of
from roofwell.papers.picture_data import picture_data
from roofwell.papers.texts import Say, job_name
from roofwell.papers.traced import traces_of
from roofwell.system.facts import RainFacts
from roofwell.system.pipe_ends import ENDS, end_invert_m, lowest_inlet, pipe_end
from roofwell.system.scheme import Basin, Scheme, Well
from roofwell.system.well_words import well_words
from roofwell.units import Quantity

VERSION = 1


def results(design: Design) -> dict[str, Any]:
    """Return the results as plain values: text, numbers, booleans, None, lists and dicts."""
    about = design.job.job
    return {
        "results": VERSION,
        "fingerprint": design.fingerprint,
        "job": {
            "name": job_name(design.job),
            "revision": about.revision,
            "date": plain(about.date),
            "units": design.survey.style,
            "invented": bool(about.invented),
            "lot": about.lot,
        },
        "waits": list(design.waits),
        "may_be_dug_from": not design.waits,
        "notices": plain(design.notices),
        "answers": plain(design.answers),
        "rain": _rain(design.survey.rain),
        "soil": plain(design.survey.soil),
        "scheme": _scheme(design.scheme, design),
        "scheme_large": _scheme(design.scheme_large, design) if design.scheme_large is not None else None,
        "open_sizes": design.open_sizes,
        "behaviour": plain(design.behaviour),
        "behaviour_large": plain(design.behaviour_large),
        "takeoff": plain(design.takeoff),
        "takeoff_large": plain(design.takeoff_large),
        "assumed": plain(design.assumed),
        "missing": sorted(design.survey.missing),
        "candidates": plain(design.candidates),
        "pictures": picture_data(traces_of(design)),
    }


def results_json(design: Design) -> bytes:
    """Return the results as JSON: UTF-8, keys in the documented order, the same for the same Design."""
    return (json.dumps(results(design), ensure_ascii=False, indent=2, allow_nan=False) + "\n").encode("utf-8")


def _rain(rain: RainFacts) -> dict[str, Any]:
    donors = rain.donor.tried if rain.donor is not None else ()
    return {
        "table": rain.table_name,
        "table_of_this_place": rain.table_of_this_place,
        "record": rain.record_name,
        "record_of_this_place": rain.record_of_this_place,
        "uplift": rain.uplift,
        "snow_months": None if rain.snow_months is None else [month + 1 for month in rain.snow_months],
        "donors": [{"name": one.name, "accepted": one.test.accepted, **plain(one.test)} for one in donors],
        "notes": list(rain.notes),
    }


def _scheme(scheme: Scheme, design: Design) -> dict[str, Any]:
    told = [field.name for field in dataclasses.fields(scheme) if field.name != "trees"]  # the runs tell them
    out = {name: plain(getattr(scheme, name)) for name in told}
    out["origin"] = dict(sorted(scheme.origin.items()))
    out["pipe_ends"] = plain([pipe_end(scheme, run, end) for run in scheme.runs for end in ENDS])
    out["texts"] = _texts(scheme, Say(design.survey.style))
    return out


def _texts(scheme: Scheme, say: Say) -> dict[str, str]:
    """Return the figures that the trade speaks of, as papers print them, by part and value."""
    out: dict[str, str] = {}
    for run in scheme.runs:
        out[f"{run.id}.nominal_m"] = say.size(run.nominal_m)
        out[f"{run.id}.length_m"] = say.distance(run.length_m)
        out[f"{run.id}.slope_m_m"] = say.slope_twice(slope_of(run))
        for end in ENDS:
            out[f"{run.id}.{end}_invert_m"] = say.elevation(end_invert_m(scheme, run, end))
    for basin in scheme.basins:
        out[f"{basin.id}.width_m"] = say.length(basin.width_m)
        for name in ("floor_m", "grate_m"):
            out[f"{basin.id}.{name}"] = say.elevation(getattr(basin, name))
        out[f"{basin.id}.inlet_invert_m"] = say.elevation(_inlet_m(scheme, basin))
        leaves = scheme.run_from(basin.id)
        level = basin.outlet_invert_m if leaves is None else end_invert_m(scheme, leaves, "upstream")
        out[f"{basin.id}.outlet_invert_m"] = say.elevation(level)
    for well in scheme.wells:
        for name in ("bottom_m", "stone_top_m", "lip_m"):
            out[f"{well.id}.{name}"] = say.elevation(getattr(well, name))
        out[f"{well.id}.inlet_invert_m"] = say.elevation(_inlet_m(scheme, well))
        out[f"{well.id}.body"] = well_words(well, say.style)
        for name in ("pit_length_m", "pit_width_m", "body_diameter_m", "body_height_m", "body_length_m"):
            out[f"{well.id}.{name}"] = say.length(getattr(well, name))
        out[f"{well.id}.voids"] = say.percent(well.voids)
    for link in scheme.links:
        out[f"{link.id}.invert_m"] = say.elevation(link.invert_m)
        out[f"{link.id}.nominal_m"] = say.size(link.nominal_m)
    for overflow in scheme.overflows:
        out[f"{overflow.id}.lip_m"] = say.elevation(overflow.lip_m)
    return out


def _inlet_m(scheme: Scheme, part: Basin | Well) -> float:
    """Return the lowest invert at which a pipe comes into a part, at its wall."""
    end = lowest_inlet(scheme, part.id)
    return part.inlet_invert_m if end is None else end.invert_m


def plain(value: Any) -> Any:
    """Turn any value of a Design into what JSON holds.

    A dataclass becomes an object of its fields; a quantity its text and its SI value; an array its count,
    first, last, least and most; NaN and infinity null.
    """
    kind = value.__class__
    if value is None or kind is str or kind is bool or kind is int:
        return value
    if kind is float:
        return value if math.isfinite(value) else None
    if kind is tuple or kind is list:
        return [plain(item) for item in value]
    match value:
        case Quantity():
            return {"text": value.text, "si": plain(value.value_si)}
        case str() | int():  # of a kind of their own
            return value
        case float():
            return value if math.isfinite(value) else None
        case Fraction():
            return plain(float(value))
        case np.ndarray():
            return _summary(value)
        case np.generic():
            return plain(value.item())
        case date():
            return value.isoformat()
        case Mapping():
            return {str(key): plain(item) for key, item in value.items()}
        case set() | frozenset():
            return sorted(plain(item) for item in value)
        case list() | tuple():
            return [plain(item) for item in value]
    names = _fields(kind)
    return str(value) if names is None else {name: plain(getattr(value, name)) for name in names}


@cache
def _fields(kind: type) -> tuple[str, ...] | None:
    """Return the names of a dataclass's fields; None of any other kind. The answers hold thousands of a few kinds."""
    if not dataclasses.is_dataclass(kind):
        return None
    return tuple(field.name for field in dataclasses.fields(kind) if not field.name.startswith("_"))


def _summary(values: np.ndarray[Any, Any]) -> dict[str, Any]:
    flat = np.asarray(values, dtype=float).ravel()
    good = flat[np.isfinite(flat)]
    return {
        "count": int(flat.size),
        "first": plain(float(flat[0])) if flat.size else None,
        "last": plain(float(flat[-1])) if flat.size else None,
        "least": float(good.min()) if good.size else None,
        "most": float(good.max()) if good.size else None,
    }
