"""Rain of a job document: scaled records, uplift, snow months, rates, what is odd in a gauge record; through ``design``."""

from __future__ import annotations

import copy
import re
import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from roofwell import job as job_room
from roofwell.checks import rain_words
from roofwell.design import Design
from roofwell.errors import InputError
from roofwell.papers import results_json
from roofwell.papers.set.contents import _rain
from roofwell.physics.rain import frequency
from roofwell.physics.rain.record import record_from_series
from roofwell.system.ledger import Ledger
from roofwell.system.rain_facts import rain_facts
from roofwell.system.survey import survey as make_survey
from roofwell.tables import rain_library

Document = dict[str, Any]
IN = 0.0254

# Cairo IL as a place without a record: monthly rain of its gauge (inches), its own 2- and 10-year rain (sheet, rain 3.3:
# 24 h by 3.2806 + 1.1315 (1 - y^.004)/.004, y = .5 and .1; the hour a little over the clock's 1.54 and 2.14).
CAIRO_MONTHS = [3.80, 3.57, 4.68, 4.42, 5.16, 4.20, 3.95, 3.90, 3.26, 2.89, 3.98, 4.21]
CAIRO_RAIN = (
    ("5 min", "0.50 in", "0.70 in"),
    ("1 h", "1.74 in", "2.42 in"),
    ("24 h", "4.06 in", "5.87 in"),
)
# Mean air temperature of a place with a cold winter, F (invented): January, February and December below 38 F.
COLD_F = [26, 30, 41, 52, 62, 71, 75, 73, 66, 55, 43, 32]


def depths(rows: tuple[tuple[str, str, str], ...]) -> list[dict[str, str]]:
    return [
        {"duration": lasts, "return_period": years, "depth": depth}
        for lasts, *both in rows
        for years, depth in zip(("2 yr", "10 yr"), both, strict=True)
    ]


@pytest.fixture
def cairo(house: Document) -> Document:
    house["rain"] = {
        "shipped_record": "north-little-rock-ar",
        "depths": depths(CAIRO_RAIN),
        "monthly_rain": [f"{inches} in" for inches in CAIRO_MONTHS],
    }
    house["targets"] = {"spills": "10 a year"}
    return house


@pytest.fixture(scope="session")
def cairo_design(_house_text: str, design_of: Callable[..., Design]) -> Design:
    document = tomllib.loads(_house_text)
    document["rain"] = {
        "shipped_record": "north-little-rock-ar",
        "depths": depths(CAIRO_RAIN),
        "monthly_rain": [f"{inches} in" for inches in CAIRO_MONTHS],
        "air_temperatures": [f"{degrees} F" for degrees in COLD_F],
    }
    document["targets"] = {"spills": "10 a year"}
    return design_of(document)


def facts_of(document: Document, read_job: Callable[..., Any], folder: Path) -> Any:
    return make_survey(read_job(document, folder), folder=folder)


def finding(result: Design, code: str) -> Any:
    return next(f for answer in result.answers for f in answer.findings if f.code == code)


# ------------------------------------------------------------------ scaled records


def test_an_accepted_record_is_used_and_judged(cairo_design: Design) -> None:
    """Little Rock for Cairo is accepted (both records are public, the sheet's pair of nearest climates): spills are judged
    with the range, and the same record unscaled would have left them unknown."""
    rain = cairo_design.survey.rain
    assert rain.scaled_from is not None
    assert rain.scaled_from.name.startswith("North Little Rock")
    assert "rain.record" not in cairo_design.survey.missing
    assert not rain.record_of_this_place  # its dates are not this place's
    assert finding(cairo_design, "spills-a-year").verdict != "unknown"
    assert rain.record is not None
    month = rain.record.times().astype("datetime64[M]").astype(int) % 12
    for index, inches in enumerate(CAIRO_MONTHS):
        yearly = rain.record.depth_m[month == index].sum() / IN / rain.record.years
        assert yearly == pytest.approx(inches, rel=0.005)  # a few missing hours


def test_range_of_a_scaled_record(cairo_design: Design) -> None:
    """Rain 3.7: the share taken in within .05 either way; spills a year that go with it hold the middle."""
    record, off = cairo_design.behaviour.record, cairo_design.behaviour.donor_range
    assert record is not None and off is not None
    assert off.captured_low <= record.captured_share - 0.05 + 1e-9
    assert off.captured_high >= min(record.captured_share + 0.05, 1.0) - 1e-9
    low, high = off.system_spills_year
    assert low < record.spills_year < high
    assert low == 0.0 or record.captured_share < 0.95
    value = finding(cairo_design, "spills-a-year")
    assert re.search(r"\(\d+\.\d to \d+\.\d by its range\)", value.sentence)


def test_range_makes_a_met_target_close(cairo: Document, design_of: Callable[..., Design]) -> None:
    """A target between the middle and the upper end is met by less than the stated range: close, not good."""
    first = design_of(cairo)
    off = first.behaviour.donor_range
    assert off is not None and first.behaviour.record is not None
    middle, (_, high) = first.behaviour.record.spills_year, off.system_spills_year
    assert high - middle > 0.2
    cairo["targets"] = {"spills": f"{round((2 * middle + high) / 3, 1)} a year"}
    again = design_of(cairo)
    found = finding(again, "spills-a-year")
    if again.scheme.wells == first.scheme.wells:
        assert found.verdict == "close"


def test_words_of_a_scaled_record(cairo_design: Design) -> None:
    """The notes, the answer and the paper say what it is, how it stood its tests and how far off it may be."""
    notes = " ".join(cairo_design.survey.rain.notes)
    assert "multiplied month by month by" in notes
    assert "2-year 24 h" in notes and "0.88 to 1.12 accepted" in notes
    assert "dates in it are not this place's" in notes
    answer = next(answer for answer in cairo_design.answers if answer.question == 5)
    assert "The record is a scaled one:" in answer.sentence
    assert "scaled to this place" in _rain(cairo_design)
    assert b'"donor_range"' in results_json(cairo_design)


def test_the_likest_climate_is_taken(
    cairo: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    """Nobody names a record: Cairo's own gauge has this very climate, Little Rock's is accepted too and shows the spread."""
    del cairo["rain"]["shipped_record"]
    rain = facts_of(cairo, read_job, data_folder).rain
    accepted = [one.name for one in rain.donor.accepted]
    assert [name.split(",")[0] for name in accepted] == ["Cairo", "North Little Rock"]
    unlike = [one.test.unlike for one in rain.donor.accepted]
    assert unlike == sorted(unlike)
    assert len(rain.donor.tried) == len(rain_library.entries("record"))
    assert facts_of(cairo, read_job, data_folder).rain.record_name == rain.record_name


def test_none_is_accepted(cairo: Document, read_job: Callable[..., Any], data_folder: Path) -> None:
    """A table twice as high: nothing passes, spills are unknown, and the words say what each one broke."""
    del cairo["rain"]["shipped_record"]
    cairo["rain"]["depths"] = depths(
        (("5 min", "1.0 in", "1.4 in"), ("1 h", "3.5 in", "4.8 in"), ("24 h", "8.1 in", "11.7 in"))
    )
    survey = facts_of(cairo, read_job, data_folder)
    assert survey.rain.scaled_from is None
    assert "rain.record" in survey.missing
    notes = " ".join(survey.rain.notes)
    assert "no record of another place can be scaled to this one" in notes
    assert "2-year rain in 24 h would be" in notes
    assert "not of this place" in notes  # the nearest stands in as before


def test_without_a_table_of_the_place_nothing_is_scaled(
    cairo: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    """The test by the rain table is what protects: no table of the place, no scaled record."""
    del cairo["rain"]["depths"]
    cairo["place"] |= {"latitude": 45.0, "longitude": -100.0}
    survey = facts_of(cairo, read_job, data_folder)
    assert survey.rain.donor is None
    assert "rain.record" in survey.missing
    assert any("tested against its own rain table" in note for note in survey.rain.notes)


def test_own_record_of_another_place(cairo: Document, read_job: Callable[..., Any], tmp_path: Path) -> None:
    """The user's own file from elsewhere is scaled too; without monthly rain it is used as it is and judges nothing."""
    shutil.copy(Path(__file__).parent.parent / "data" / "small-house-rules.toml", tmp_path)
    shipped = record_from_series(rain_library.load_record("north-little-rock-ar"))
    times = shipped.times()
    lines = ["time,rain in"] + [f"{times[i]},{shipped.depth_m[i] / IN:.2f}" for i in range(shipped.steps)]
    (tmp_path / "far.csv").write_text("\n".join(lines), encoding="utf-8")
    del cairo["rain"]["shipped_record"]
    cairo["rain"] |= {"record": "far.csv", "record_elsewhere": True}
    survey = facts_of(cairo, read_job, tmp_path)
    assert survey.rain.scaled_from.name == "far.csv"
    assert "rain.record" not in survey.missing
    del cairo["rain"]["monthly_rain"]
    survey = facts_of(cairo, read_job, tmp_path)
    assert survey.rain.scaled_from is None
    assert "rain.record" in survey.missing
    assert any("is not of this place, as the job says" in note for note in survey.rain.notes)


# ------------------------------------------------------------------ uplift


def test_uplift_raises_the_table_and_says_so(
    house: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    """Conveyance R24: 7.764 in/h raised by 20, 40 and 45 % is 9.317, 10.870 and 11.258 in/h."""
    for share, told in (("20 %", 9.317), ("40 %", 10.870), ("45 %", 11.258)):
        document = copy.deepcopy(house)
        document["rain"] |= {
            "depths": [
                {"duration": "5 min", "return_period": "10 yr", "depth": "0.647 in"},
                {"duration": "24 h", "return_period": "10 yr", "depth": "4.7 in"},
            ],
            "uplift": share,
        }
        rain = facts_of(document, read_job, data_folder).rain
        rate = frequency.intensity_m_s(rain.table, duration_s=300.0, return_period_years=10.0)
        assert rate / IN * 3600 == pytest.approx(told, abs=0.001)
        today = frequency.intensity_m_s(rain.measured_table, duration_s=300.0, return_period_years=10.0)
        assert today / IN * 3600 == pytest.approx(7.764, abs=1e-6)
        line = next(note for note in rain.notes if "wetter climate" in note)
        assert f"raised by {share} " in line
        assert "the gauge record is as measured" in line
        assert "no US national figure was seen" in line
        assert rain.record_today is None


def test_record_is_raised_on_request(
    house: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    house["rain"] |= {"uplift": "20 %", "uplift_record": True}
    rain = facts_of(house, read_job, data_folder).rain
    assert rain.record.total_depth_m == pytest.approx(1.2 * rain.measured_record.total_depth_m, rel=1e-12)
    assert any("and of the gauge record is raised by 20 %" in note for note in rain.notes)


def test_a_past_flood_is_measured_by_the_table_of_today(
    house: Document, design_of: Callable[..., Design]
) -> None:
    """What fell and how rare it was does not change with the climate that the design is made for."""
    house["complaint"] = {"flood_dates": ["1957-07-13"]}
    plain = design_of(house)
    house["rain"] |= {"uplift": "30 %", "uplift_record": True}
    raised = design_of(house)
    assert plain.behaviour.beyond is not None and raised.behaviour.beyond is not None
    (was,), (now,) = plain.behaviour.beyond.floods, raised.behaviour.beyond.floods
    assert (now.depth_m, now.day_years, now.hour_years) == (was.depth_m, was.day_years, was.hour_years)
    assert raised.behaviour.intensity_m_s == pytest.approx(1.3 * plain.behaviour.intensity_m_s, rel=1e-9)
    assert "Raised by 30 % for a wetter climate: table and record" in _rain(raised)
    assert "Raised" not in _rain(plain)


# ------------------------------------------------------------------ snow


def test_snow_months_are_marked(cairo_design: Design) -> None:
    """Three months below 38 F; their spills are counted apart by brute force over the events of the traces."""
    assert cairo_design.survey.rain.snow_months == (0, 1, 11)
    record = cairo_design.behaviour.record
    assert record is not None and record.snow_spill_events is not None
    assert 0 <= record.snow_spill_events <= record.spill_events
    words = rain_words.snow_words(record, cairo_design.survey.rain)
    assert f"{record.snow_spill_events} of its {record.spill_events} spills" in words
    assert "nothing is melted" in words
    answer = next(answer for answer in cairo_design.answers if answer.question == 5)
    assert words in answer.detail


def test_every_month_or_none(house: Document, judged_of: Callable[..., Any]) -> None:
    """All months cold: every spill is marked. All warm: none is. Not given: nothing is said. Spills stay the same."""
    seen = []
    for degrees in ("20 F", "60 F", None):
        document = copy.deepcopy(house)
        if degrees:
            document["rain"]["air_temperatures"] = [degrees] * 12
        judged = judged_of(document, record=True, bodies=1, diameter="18 in", height="24 in", around="9 in")
        seen.append(judged.behaviour.record)
    assert len({record.spill_events for record in seen}) == 1
    assert seen[0].spill_events > 0
    assert [record.snow_spill_events for record in seen] == [seen[0].spill_events, 0, None]


def test_winter_spills_by_brute_force(house: Document, judged_of: Callable[..., Any]) -> None:
    """Each month marked by itself: the twelve counts add up to all spills."""
    size = {"bodies": 1, "diameter": "18 in", "height": "24 in", "around": "9 in"}
    total, counts = 0, []
    for month in range(12):
        document = copy.deepcopy(house)
        document["rain"]["air_temperatures"] = ["20 F" if m == month else "60 F" for m in range(12)]
        record = judged_of(document, record=True, **size).behaviour.record
        total = record.spill_events
        counts.append(record.snow_spill_events)
    assert sum(counts) == total > 0
    assert max(counts) > min(counts)


def test_a_winter_flood_is_marked(house: Document, design_of: Callable[..., Design]) -> None:
    house["complaint"] = {"flood_dates": ["1957-07-13", "1960-01-12"]}
    house["rain"]["air_temperatures"] = [f"{degrees} F" for degrees in COLD_F]
    beyond = design_of(house).behaviour.beyond
    assert beyond is not None
    assert [flood.snow for flood in beyond.floods] == [False, True]


# ------------------------------------------------------------------ record beside table, rates


def test_record_stands_beside_the_table(small_house: Design) -> None:
    """The line that a user reads; figures of the table come back as typed (24 h, 10 yr: 4.0 in)."""
    beyond = small_house.behaviour.beyond
    assert beyond is not None and beyond.statistics is not None
    sentence = rain_words.statistics_sentence(beyond.statistics, "us")
    assert re.fullmatch(
        r"The record \(of Chicago Midway, IL, 1949 to 1979, not of this place\) says 10-year 24 h = \d\.\d\d in, the"
        r" table 4\.00 in\.",
        sentence,
    )
    assert max(d.years for d in beyond.statistics.depths) == 50.0  # twice 31 years
    for depth in beyond.statistics.depths:
        assert depth.low_m < depth.record_m < depth.high_m


def test_rates_over_the_years(small_house: Design) -> None:
    """Each part by hand: rain that it just carries = what it carries over its roof; counts fall as that rises; no
    volume anywhere rests on the split hours."""
    beyond = small_house.behaviour.beyond
    assert beyond is not None and beyond.rates is not None
    rates = beyond.rates
    assert rates.split and rates.place == "Singapore"
    by_id = {flow.id: flow for flow in small_house.behaviour.downspouts}
    area = {spout.id: spout.roof_area_m2 for spout in small_house.scheme.downspouts}
    for part in rates.parts:
        if part.kind == "downspout":
            assert part.rate_m_s * area[part.id] == pytest.approx(by_id[part.id].limit_m3_s, rel=1e-9)
    ordered = sorted(rates.parts, key=lambda part: part.rate_m_s)
    counted = [part.events_year for part in ordered if part.events_year is not None]
    assert counted == sorted(counted, reverse=True)
    assert rates.table_ratio == pytest.approx(0.36 / 1.25, rel=1e-9)
    assert rates.ratio is not None and 0.15 < rates.ratio < 0.40
    text = rain_words.rates_basis(rates)
    assert "never for volumes" in text
    assert ("They fit this rain" in text) == bool(rates.ratio_holds)
    for line in rain_words.rates_lines(rates, "us"):
        assert ("over the record unknown" in line) == (not rates.ratio_holds)


def test_a_small_gutter_is_overrun_more_often(house: Document, design_of: Callable[..., Design]) -> None:
    """A roof of eight times the size: what it carries is an eighth of the rain, and it is overrun every year."""
    house["roofs"]["R1"]["plan_area"] = "3360 sq ft"
    beyond = design_of(house).behaviour.beyond
    assert beyond is not None and beyond.rates is not None
    part = next(part for part in beyond.rates.parts if part.id == "D1")
    assert part.events_year is not None and part.events_year > 1.0


# ------------------------------------------------------------------ what is odd in a gauge record


def gauge(
    folder: Path, *, hours: int, header: str = "time,rain in", change: dict[int, str] | None = None
) -> str:
    """Write an invented gauge file beside the job: an hour of 0.30 in every fifth day from 2001 on."""
    shutil.copy(Path(__file__).parent.parent / "data" / "small-house-rules.toml", folder)
    start = np.datetime64("2001-01-01T00:00:00")
    lines = [header]
    for i in range(hours):
        cell = (change or {}).get(i, "0.30" if i % 120 == 7 else "0")
        if cell != "gone":
            lines.append(f"{start + i * np.timedelta64(1, 'h')},{cell}")
    (folder / "gauge.csv").write_text("\n".join(lines), encoding="utf-8")
    return "gauge.csv"


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("-0.20", "is negative; left missing"),
        ("14.0", "is more than 304.8 mm (12 in) in one step; left missing"),
    ],
)
def test_negative_and_absurd_rain_is_said(
    cell: str, words: str, house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    house["rain"] = house["rain"] | {"record": gauge(tmp_path, hours=9000, change={50: cell})}
    del house["rain"]["shipped_record"]
    survey = facts_of(house, read_job, tmp_path)
    assert any(words in note for note in survey.rain.notes)
    assert survey.rain.record.missing.sum() == 1


def test_a_doubtful_hour_is_said_and_kept(
    house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    house["rain"] = house["rain"] | {"record": gauge(tmp_path, hours=9000, change={50: "4.0"})}
    del house["rain"]["shipped_record"]
    survey = facts_of(house, read_job, tmp_path)
    assert any("2001-01-03T02:00:00: 4.0 in is hard to believe" in note for note in survey.rain.notes)
    assert survey.rain.record.depth_m.max() == pytest.approx(4.0 * IN)


@pytest.mark.parametrize(("lost", "judged"), [(200, True), (600, False)])
def test_gaps_over_the_limit_judge_nothing(
    lost: int, judged: bool, house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    """3 % of 9,000 hours are 270."""
    change = {100 + i: "gone" for i in range(lost)}
    house["rain"] = house["rain"] | {"record": gauge(tmp_path, hours=9000, change=change)}
    del house["rain"]["shipped_record"]
    survey = facts_of(house, read_job, tmp_path)
    assert ("rain.record" not in survey.missing) == judged
    assert any("are not there; left missing" in note for note in survey.rain.notes)
    assert any("more than 3 %" in note for note in survey.rain.notes) != judged


def test_two_units_are_refused(house: Document, read_job: Callable[..., Any], tmp_path: Path) -> None:
    """The header says mm, the job says in: nobody guesses which."""
    house["rain"] = house["rain"] | {
        "record": gauge(tmp_path, hours=200, header="time,rain mm"),
        "record_depth_unit": "in",
    }
    del house["rain"]["shipped_record"]
    with pytest.raises(InputError, match=r"rain\.record: gauge\.csv: .*two units") as caught:
        facts_of(house, read_job, tmp_path)
    assert caught.value.code == "rain-record-two-units"


def test_a_gauge_whose_name_holds_in_has_one_unit(
    house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    house["rain"] = house["rain"] | {
        "record": gauge(tmp_path, hours=200, header="time,rain in gauge"),
        "record_depth_unit": "mm",
    }
    del house["rain"]["shipped_record"]
    assert facts_of(house, read_job, tmp_path).rain.record.depth_m.max() == pytest.approx(0.0003)


def test_more_rain_than_falls_anywhere_is_refused(
    house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    """7.6 in of hourly millimeters taken as inches, every fifth day: 556 in a year."""
    change = dict.fromkeys(range(7, 9000, 120), "7.62")
    house["rain"] = house["rain"] | {"record": gauge(tmp_path, hours=9000, change=change)}
    del house["rain"]["shipped_record"]
    with pytest.raises(InputError, match=r"no place has more than 500 in: is the unit right\?"):
        facts_of(house, read_job, tmp_path)


def test_a_record_far_from_the_table_judges_nothing(
    house: Document, read_job: Callable[..., Any], tmp_path: Path
) -> None:
    """Five years whose wettest day has 0.30 in where the table's 2-year one has 2.6: a ninth."""
    house["rain"] = house["rain"] | {"record": gauge(tmp_path, hours=5 * 8766)}
    del house["rain"]["shipped_record"]
    survey = facts_of(house, read_job, tmp_path)
    assert any("one of the two is in another unit or of another place" in note for note in survey.rain.notes)
    assert "rain.record" in survey.missing


@pytest.mark.parametrize(
    ("leaf", "value", "words"),
    [
        ("monthly_rain", ["3 in"] * 11, "a year has twelve months"),
        ("monthly_rain", ["80 in"] * 12, "up to 500 in"),
        ("monthly_rain", ["0 in"] * 12, "above 0"),
        ("air_temperatures", ["30 F"] * 13, "a year has twelve months"),
        ("air_temperatures", ["30 F"] * 11 + ["200 F"], "no month on earth"),
        ("record_elsewhere", True, "rain.record names none"),
        ("uplift_record", True, "write it as rain.uplift"),
    ],
)
def test_months_that_cannot_be(leaf: str, value: Any, words: str, house: Document, data_folder: Path) -> None:
    house["rain"][leaf] = value
    problems = job_room.read(house, folder=data_folder).problems
    assert len(problems) == 1
    assert problems[0].path.startswith(f"rain.{leaf}")
    assert words in problems[0].message


def test_metric_months(house: Document, read_job: Callable[..., Any], data_folder: Path) -> None:
    """A table's unit serves its bare numbers; 3.3 C is the metric figure of the limit."""
    house["job"]["units"] = "metric"
    house["rain"] |= {
        "unit": "mm",
        "monthly_rain": [80] * 12,
        "air_temperatures": ["3.2 C", "3.4 C"] + ["9 C"] * 10,
    }
    job = read_job(house, data_folder)
    assert [depth.value_si for depth in job.rain.monthly_rain] == pytest.approx([0.080] * 12)
    assert rain_facts(job, data_folder, Ledger("metric")).snow_months == (0,)
