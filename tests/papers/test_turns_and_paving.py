"""Turns with what is left for the joints, runs without a way, and walks bored or cut, as the papers say them."""

from __future__ import annotations

import math
from dataclasses import replace

from roofwell.design import Design
from roofwell.papers.crew_sheet import CrewOptions
from roofwell.papers.crew_sheet.sheets import sheet_data
from roofwell.papers.set import tables
from roofwell.papers.set.turns import turns
from roofwell.system.scheme import Blocked, PavedCrossing
from roofwell.takeoff.bends import Turn

from . import house

FT = 0.3048
LASER = CrewOptions(instrument_m=104.62 * FT)


def test_what_the_elbows_leave_over_is_said() -> None:
    """54 degrees by an elbow of 60: 6 back. 50 by 45: 5 more. 3 degrees need no elbow."""
    base = house.design()
    made = (
        Turn("P1", 10 * FT, "corner", math.radians(54), ("elbow-60",), math.radians(-6)),
        Turn("P2", 12 * FT, "Y1", math.radians(50), ("elbow-45",), math.radians(5)),
        Turn("P3", 4 * FT, "corner", math.radians(3), (), math.radians(3)),
        Turn("P4", 4 * FT, "corner", math.radians(90), ("elbow-45", "elbow-45"), 0.0),
    )
    rows = turns(replace(base, takeoff=replace(base.takeoff, turns=made)))["rows"]
    assert [(row["run"], row["turn"], row["left"]) for row in rows] == [
        ("P1", "54°", "6° back"),
        ("P2", "50°", "5° more"),
        ("P3", "3°", "3° more"),
        ("P4", "90°", "nothing"),
    ]
    assert rows[1]["where"] == "into Y1"
    assert rows[2]["pieces"] == "none: in the joints"
    assert rows[3]["pieces"] == "2 x elbow, 45 degrees"


def test_a_run_without_a_way_is_said_above_the_turns() -> None:
    base = house.design()
    blocked = (Blocked("P2", ("H1", "H2"), 10 * FT / 12, 16 * FT / 12), Blocked("P3", (), 0.0, 16 * FT / 12))
    notes = turns(replace(base, scheme=replace(base.scheme, blocked=blocked)))["notes"]
    assert notes == [
        "No trench passes for P2: between H1 and H2 it wants 6.0 in more. It is drawn straight.",
        "No trench passes for P3: shut in. It is drawn straight.",
    ]


def _passing(way: str) -> Design:
    """P1 under 4 ft of walk K2, from 8 to 12 ft of the way."""
    base = house.design()
    crossing = PavedCrossing("K2", "walk", "P1", 8 * FT, 4 * FT, way, "designed")
    return replace(base, scheme=replace(base.scheme, paved=(crossing,)))


def test_crew_sheet_bores_and_shoots_both_sides_of_the_walk() -> None:
    """No reading at 0+10: nobody digs there. The edges at 0+08 and 0+12 are shot."""
    data = sheet_data(_passing("bored"), LASER)
    side = next(
        s for s in data["sides"] for b in s["blocks"] for row in b["rows"] if "bore under" in row["what"]
    )
    rows = [row for block in side["blocks"] for row in block["rows"]]
    names = {row["station"]: row["what"] for row in rows}
    assert "0+10" not in names
    assert names["0+08"] == "bore under walk K2 from here"
    assert names["0+12"] == "bored under walk K2 to here"
    words = str(side)
    assert "Bore under walk K2 from 0+08 to 0+12" in words


def test_crew_sheet_cuts_first_and_patches_last() -> None:
    words = str(sheet_data(_passing("cut"), LASER))
    lift, patch = words.index("Saw and lift walk K2"), words.index("relay or patch walk K2")
    assert lift < words.index("Trench to the readings") < patch
    assert "Bore under" not in words


def test_levels_table_names_the_walk() -> None:
    rows = [row for table in tables.levels(_passing("bored")) for row in table["rows"]]
    assert any(row["what"] == "walk K2, bored for 4.0 ft" for row in rows)
