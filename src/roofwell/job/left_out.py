"""Sections that are left out whole, although other parts name what would stand in them.

Who leaves out ``[basins]`` but writes a run to ``B1`` has not made a mistake: the basin is there and everything
about it is left out. Such a part is added with nothing but its label, and with its place where the path of a
run ends or begins at it. A label that is not found in a section that *is* there stays a problem.
"""

from __future__ import annotations

from typing import Any

from roofwell.job.references import LINKS, entries, text

BY_LETTER = {"D": "downspouts", "Y": "wyes", "B": "basins", "W": "wells", "E": "outlets", "G": "gutters"}


def with_left_out_sections(data: dict[str, Any]) -> dict[str, Any]:
    """Return the document with the parts of sections that are left out whole; the given one is not changed."""
    out = dict(data)
    present = {table for table in data if isinstance(data[table], dict)}
    labels = {label for table in present for label in data[table]}
    for table, key, wanted in LINKS:
        for entry in entries(data, table).values():
            label = text(entry, key)
            if label is None or label in labels:
                continue
            absent = [name for name in wanted if name not in data]
            # a label that only an overflow names is as likely misspelled as left out: its letter must speak for it
            home = _home(label, absent) if table != "overflows" or label[:1].upper() in BY_LETTER else None
            if home is None:
                continue
            section = dict(out.get(home, {}))
            section.setdefault(label, _place(entry, key) if table == "runs" else {})
            out[home] = section
    return out


def _home(label: str, absent: list[str]) -> str | None:
    named = BY_LETTER.get(label[:1].upper())
    if named in absent:
        return named
    return absent[0] if len(absent) == 1 and named is None else None


def _place(run: dict[str, Any], key: str) -> dict[str, Any]:
    path = run.get("path")
    if not isinstance(path, list) or len(path) < 2:
        return {}
    place: dict[str, Any] = {"at": path[0 if key == "from" else -1]}
    if "unit" in run:
        place["unit"] = run["unit"]
    return place
