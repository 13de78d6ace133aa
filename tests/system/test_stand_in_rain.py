"""Rain that stands in where the job gives no coordinates: chosen for a reason, and never called of this place."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import tables
from roofwell.physics.rain import frequency
from roofwell.system.stand_in_rain import named_state, record_depth_m, stand_in
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
IN = 0.0254


@pytest.fixture
def facts(read_job: Callable[..., Any], data_folder: Path) -> Callable[[Document], Any]:
    return lambda document: make_survey(read_job(document), folder=data_folder)


@pytest.mark.parametrize(
    ("place", "code"),
    [
        ("Springfield, IL", "IL"),
        ("Springfield, IL 62701", "IL"),
        ("a lot in west virginia", "WV"),
        (
            "Arkansas City, Kansas",
            "AR",
        ),  # both are named: the longer name; a person who writes KS is understood
        ("Arkansas City, KS", "KS"),
        ("Fort Smith, Arkansas", "AR"),
        ("Alder Fields (invented)", None),
        ("IN THE WOODS", None),
        (None, None),
    ],
)
def test_the_state_that_a_place_names(place: str | None, code: str | None) -> None:
    found = named_state(place)
    assert (found["code"] if found else None) == code


def test_every_state_once() -> None:
    """Fifty states and the district; the four corners of the mainland lie where every map has them."""
    rows = tables.rows("us_states")
    assert len(rows) == len({row["code"] for row in rows}) == len({row["name"] for row in rows}) == 51
    places = {row["code"]: (float(row["latitude_deg"]), float(row["longitude_deg"])) for row in rows}
    mainland = {code: at for code, at in places.items() if code not in ("AK", "HI")}
    assert max(mainland, key=lambda code: mainland[code][0]) in ("ND", "WA", "MT")
    assert min(mainland, key=lambda code: mainland[code][0]) == "FL"
    assert max(mainland, key=lambda code: mainland[code][1]) == "ME"
    assert min(mainland, key=lambda code: mainland[code][1]) == "OR"


@pytest.mark.parametrize(
    ("place", "table", "record"),
    [
        ("Tampa, FL", "fort-myers-fl-table", "moore-haven-fl"),
        ("Memphis, TN", "nashville-tn-table", "cairo-il"),
        ("Trenton, NJ", "nashville-tn-table", "landisville-pa"),
        ("Boise, Idaho", "nashville-tn-table", "mount-shasta-ca"),
        ("Cheyenne, WY", "nashville-tn-table", "denver-co"),
    ],
)
def test_a_named_state_leads_to_the_nearest(place: str, table: str, record: str) -> None:
    assert stand_in("table", place=place, table=None)[0].id == table
    assert stand_in("record", place=place, table=None)[0].id == record


@pytest.mark.parametrize(
    ("depth", "record"), [("2.9 in", "denver-co"), ("4.8 in", "chicago-midway-il"), ("5.8 in", "cairo-il")]
)
def test_without_a_state_the_depth_of_a_day_decides(
    depth: str, record: str, house: Document, facts: Callable[..., Any]
) -> None:
    """Ten-year rain of a day, typed; the records' own: Denver 2.9, Chicago 4.8, Cairo 5.9 in (see the next test)."""
    house["rain"] = {"depths": [
        {"duration": "5 min", "return_period": "10 yr", "depth": "0.5 in"},
        {"duration": "24 h", "return_period": "10 yr", "depth": depth},
    ]}  # fmt: skip
    rain = facts(house).rain
    names = {"denver-co": "Denver", "chicago-midway-il": "Chicago", "cairo-il": "Cairo"}
    assert rain.record_name.startswith(names[record])
    assert not rain.record_of_this_place
    assert any(
        "not of this place: of those shipped the one whose 10-year rain in 24 h" in note
        for note in rain.notes
    )


def test_depths_of_records_beside_the_agency_s_table() -> None:
    """NOAA Atlas 14 point table shipped for Nashville: 10-year 24 h 4.70 in. The record at Cairo, 300 km away in the
    same climate, stands within a quarter of it; Denver's dry one far below."""
    from roofwell.tables import rain_library

    table = frequency.table_from_grid(rain_library.load_table("nashville-tn-table"))
    depth = frequency.depth_m(table, duration_s=86400, return_period_years=10)
    assert depth == pytest.approx(4.70 * IN, rel=1e-6)
    assert record_depth_m("cairo-il", 86400.0, 10.51) == pytest.approx(depth, rel=0.25)
    assert record_depth_m("denver-co", 86400.0, 10.51) < 0.65 * depth


def test_a_table_of_minutes_cannot_be_compared(house: Document, facts: Callable[..., Any]) -> None:
    house["rain"] = {"depths": [
        {"duration": "5 min", "return_period": "10 yr", "depth": "0.5 in"},
        {"duration": "30 min", "return_period": "10 yr", "depth": "1.2 in"},
    ]}  # fmt: skip
    assert any("nothing says where the house stands" in note for note in facts(house).rain.notes)


def test_coordinates_and_a_named_record_come_first(house: Document, facts: Callable[..., Any]) -> None:
    house["place"]["name"] = "Tampa, FL"
    assert facts(house).rain.record_name.startswith("Chicago Midway")
    del house["rain"]["shipped_record"]
    assert facts(house).rain.record_name.startswith("Moore Haven")
    house["place"] |= {"latitude": 40.1, "longitude": -76.4}
    assert facts(house).rain.record_name.startswith("Landisville")


AT = (36.1253, -86.6764)  # Nashville, as the shipped point table says in its head


def _with_file(house: Document, tmp_path: Path, **place: float) -> Document:
    from importlib import resources

    text = (resources.files("roofwell.tables") / "rain" / "nashville-tn-table.csv").read_text(
        encoding="utf-8"
    )
    (tmp_path / "rain.csv").write_text(text, encoding="utf-8")
    house["rain"] = {"table": "rain.csv"}
    house["place"] = {"name": "nowhere (invented)", **place}
    return house


def test_the_table_s_own_place_leads_to_the_record(
    house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    found = make_survey(read_job(_with_file(house, tmp_path), tmp_path), folder=tmp_path)
    assert found.rain.table_of_this_place
    assert found.rain.record_name.startswith("Cairo")  # 240 km; North Little Rock is 520 km away
    assert found.rain.record_distance_m == pytest.approx(240e3, rel=0.1)


@pytest.mark.parametrize(("east", "here"), [(0.0, True), (0.15, True), (0.2, False), (3.0, False)])
def test_a_table_of_another_place_is_found_out(
    east: float, here: bool, house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    """A degree of longitude at 36.1253 N is 111.19 km x cos = 89.8 km: 0.15 is 13.5 km, 0.2 is 18 km; limit 10 miles."""
    document = _with_file(house, tmp_path, latitude=AT[0], longitude=AT[1] + east)
    found = make_survey(read_job(document, tmp_path), folder=tmp_path)
    assert found.rain.table_of_this_place is here
    assert ("rain.place" in found.missing) is not here


def test_typed_figures_say_what_series_they_are(house: Document, facts: Callable[..., Any]) -> None:
    assert any("partial-duration" in note for note in facts(house).rain.notes)
