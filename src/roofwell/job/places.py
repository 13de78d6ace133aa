"""Places of a job: one that lies miles from all the others is a slip of the finger, or of the unit."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from roofwell import tables
from roofwell.job.fields import Table
from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault, bare, entries_of, is_table
from roofwell.units import Quantity

_POINT, _LINES = ("at",), ("outline", "path", "puddle")


def place_faults(job: Job) -> Iterator[Fault]:
    """Find places that no lot reaches from where the rest of the job lies; a tape and a trench end long before."""
    found = list(_places(job, ()))
    if len(found) < 2:
        return
    middle = [sorted(place[axis] for _, place in found)[len(found) // 2] for axis in (0, 1)]
    most = tables.limit("place-believed", job.job.units or "us")
    for path, place in found:
        if max(abs(place[axis] - middle[axis]) for axis in (0, 1)) > most.value_si:
            message = f"this lies farther from the rest of the job than any lot reaches; at most {most.text} is believed"
            whole = path[: next(i for i, step in enumerate(path) if step in (*_POINT, *_LINES)) + 1]
            yield Fault(path, message, "too-far", (whole,))


def _places(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, tuple[float, float]]]:
    """Every place of the job with its key path, east and north in m."""
    if isinstance(value, Table):
        for name, key in _leading_to_places(type(value)):
            item, here = getattr(value, name), (*path, key)
            if name in _POINT and isinstance(item, tuple):
                yield here, _metres(item)
            elif name in _LINES:
                for index, point in enumerate(item):
                    yield (*here, index), _metres(point)
            else:
                yield from _places(item, here)
    elif isinstance(value, dict):
        for label, item in value.items():
            yield from _places(item, (*path, label))
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _places(item, (*path, index))


@cache
def _leading_to_places(model: type[Table]) -> tuple[tuple[str, str], ...]:
    """Return the fields of a table that are places or hold tables, with the keys that a person writes."""
    return tuple(
        (name, info.alias or name)
        for name, info in model.model_fields.items()
        if name in (*_POINT, *_LINES) or is_table(bare(info.annotation)) or entries_of(bare(info.annotation))
    )


def _metres(point: tuple[Quantity, Quantity]) -> tuple[float, float]:
    return point[0].value_si, point[1].value_si
