"""The four pictures on paper: what is drawn against what was judged, no words on words, all examples in both styles."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
import tomlkit

from roofwell import examples
from roofwell.design.result import Design
from roofwell.design.steps import design as make_design
from roofwell.job import reading
from roofwell.papers.drawing.chart import WIDE_PT, hour_ticks, length_ticks, round_step, thinned
from roofwell.papers.drawing.model import Dimension, Drawing, Label, Polygon, Polyline, Sign
from roofwell.papers.drawing.spill_chart import day_of_year, spill_chart
from roofwell.papers.render_svg import render
from roofwell.papers.results import results
from roofwell.papers.set import set_data
from roofwell.papers.set.pictures import Picture, picture_views, pictures
from roofwell.papers.texts import Say
from roofwell.papers.traced import traces_of

NAMES = examples.names()
FOOT = 0.3048
FILLS = (
    '\n[[soil.fill_tests]]\nid = "F1"\nwell = "W1"\nfills = [{ water_start = "30 in", water_end = "18 in", '
    'time = "5 h" }, { water_start = "30 in", water_end = "20 in", time = "5 h" }]\n'
)


@cache
def designed(name: str, units: str = "", added: str = "") -> Design:
    path = examples.path(name)
    document: dict[str, Any] = tomlkit.parse(path.read_text(encoding="utf-8") + added).unwrap()
    if units:
        document["job"]["units"] = units
    read = reading.read(document)
    assert read.job is not None
    return make_design(read.job, folder=path.parent)


@cache
def drawn(name: str, units: str = "", added: str = "") -> tuple[Picture, ...]:
    return pictures(designed(name, units, added))


def picture(name: str, start: str, units: str = "", added: str = "") -> Drawing:
    return next(one.drawing for one in drawn(name, units, added) if one.drawing.name.startswith(start))


CASES = [(name, "") for name in NAMES] + [("bungalow", "metric"), ("old-system", "metric"), ("terrace", "us")]


@pytest.mark.parametrize("case", CASES, ids=" ".join)
def test_no_words_on_words_and_all_on_the_sheet(case: tuple[str, str]) -> None:
    """No label overlaps another, none that is needed is left away, none leaves the frame, nothing reads NaN."""
    for one in drawn(*case):
        assert one.drawing.title and "nan" not in one.drawing.title.lower()
        if one.placed is None:
            assert one.drawing.notes  # words alone say what to measure
            continue
        assert not one.placed.unplaced
        for a, b in itertools.combinations(one.placed.labels, 2):
            assert not a.box.overlaps(b.box), f"{a.label.text} on {b.label.text}"
        for label in one.placed.labels:
            assert label.box.left >= -0.5 and label.box.right <= WIDE_PT + 0.5
            assert label.box.top >= -0.5 and label.box.bottom <= one.placed.height_pt + 0.5
        svg = render(one.placed)
        assert svg.startswith("<svg") and "nan" not in svg.lower()


@pytest.mark.parametrize("name", NAMES)
def test_four_pictures_of_every_system_with_a_well(name: str) -> None:
    """The storm and the drawdown of each well, the years of all, the mound of each; none without a well."""
    names = [one.drawing.name for one in drawn(name)]
    wells = [well.id for well in designed(name).scheme.wells]
    if not wells:
        assert names == []
        return
    wanted = {f"{kind}-{well}" for well in wells for kind in ("storm", "drawdown", "mound")} | {"spills"}
    assert set(names) == wanted and len(names) == len(wanted)
    views = set_data(designed(name))["pictures"]
    assert [view["title"].replace("\u00a0", " ") for view in views] == [
        one.drawing.title for one in drawn(name)
    ]


def area(points: tuple[tuple[float, float], ...]) -> float:
    """Area inside an outline, by the surveyor's sum."""
    x, y = np.array(points).T
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def test_the_black_on_the_lip_is_the_water_that_spills() -> None:
    """Its area, at the scale of its highest point, is the judged spill; the sentence says it in gallons."""
    made = designed("old-system")
    storm = made.behaviour.wells[0].critical
    trace = traces_of(made).storms[0]
    chart = picture("old-system", "storm-W1")
    black = next(item for item in chart.items if isinstance(item, Polygon) and item.fill == "black")
    high = max(y for _, y in black.points) - trace.lip_depth_m
    most_m3_h = float(trace.spilled_m3.max()) / trace.step_s * 3600.0
    assert storm is not None
    assert area(black.points) / high * most_m3_h == pytest.approx(storm.spilled_m3, rel=0.002)
    assert Say("us").volume(storm.spilled_m3) in chart.title
    curve = next(item for item in chart.items if isinstance(item, Polyline) and item.role == "curve")
    full = min(x for x, y in curve.points if y >= trace.lip_depth_m - 1e-9)
    assert storm.full_after_s is not None
    assert full * 3600.0 == pytest.approx(storm.full_after_s, abs=1.0)


def test_the_grey_that_hangs_is_the_rain() -> None:
    made = designed("bungalow")
    storm = made.behaviour.wells[0].critical
    trace = traces_of(made).storms[0]
    chart = picture("bungalow", "storm-W1")
    rain = next(item for item in chart.items if isinstance(item, Polygon) and item.part == "rain")
    levels = [y for _, y in rain.points]
    most_m_h = float(trace.rain_m.max()) / trace.step_s * 3600.0
    assert storm is not None
    assert area(rain.points) / (max(levels) - min(levels)) * most_m_h == pytest.approx(storm.rain_m, rel=1e-6)


@pytest.mark.parametrize("name", ["bungalow", "old-system", "terrace", "nothing-below-ground"])
def test_one_tick_for_each_spill_on_its_day(name: str) -> None:
    """As many ticks as the judged record has spills, each on the line of its year, the tallest the largest."""
    told = designed(name).behaviour.record
    found = traces_of(designed(name)).spills
    assert told is not None and found is not None
    chart = picture(name, "spills")
    ticks = [item for item in chart.items if isinstance(item, Polyline) and item.role == "tick"]
    assert len(ticks) == told.spill_events
    heights = [tick.points[1][1] - tick.points[0][1] for tick in ticks]
    largest = max(range(len(ticks)), key=lambda n: found.spills[n].volume_m3)
    assert heights[largest] == pytest.approx(max(heights))
    for tick, spill in zip(ticks, found.spills, strict=True):
        x, y = tick.points[0]
        assert int(-y) - 1 + found.first.year == spill.at.year and tick.part == spill.at.date().isoformat()
        ordinal = int(spill.at.strftime("%j")) - 1
        leap = spill.at.year % 4 == 0 and (spill.at.year % 100 != 0 or spill.at.year % 400 == 0)
        assert int(x) == ordinal + (
            0 if leap or ordinal < 59 else 1
        )  # 29 February has its place in every year
    assert f"{told.spill_events:,} spill" in chart.title


def test_snow_months_are_shaded_where_they_are_known() -> None:
    found = traces_of(designed("bungalow")).spills
    assert found is not None
    chart = spill_chart(replace(found, snow_months=(0, 1, 11)), Say("us"))
    shaded = [item for item in chart.items if isinstance(item, Polygon) and item.part == "snow"]
    assert [(min(x for x, _ in s.points), max(x for x, _ in s.points)) for s in shaded] == [
        (0.0, 31.0), (31.0, 60.0), (335.0, 366.0),
    ]  # fmt: skip
    none = spill_chart(replace(found, snow_months=None), Say("us"))
    assert not any(isinstance(item, Polygon) for item in none.items) and none.key == ()


def test_no_spill_is_a_sentence_and_no_frame() -> None:
    found = traces_of(designed("bungalow")).spills
    assert found is not None
    chart = spill_chart(replace(found, spills=()), Say("us"))
    assert chart.items == () and chart.title == "No spill in 31 years of rain"


@pytest.mark.parametrize("name", ["bungalow", "old-system", "terrace"])
def test_the_drawdown_ends_where_it_is_judged(name: str) -> None:
    """The heavy curve meets the axis at the judged time, the limit stands at the judged limit, the band encloses it."""
    made = designed(name)
    well, trace = made.behaviour.wells[0], traces_of(made).drawdowns[0]
    chart = picture(name, "drawdown-W1")
    curve = next(item for item in chart.items if isinstance(item, Polyline) and item.role == "curve")
    limit = next(item for item in chart.items if isinstance(item, Polyline) and item.role == "limit")
    assert curve.points[0] == (0.0, pytest.approx(trace.lip_depth_m))
    assert curve.points[-1][0] * 3600.0 == pytest.approx(well.drain_time_s, rel=1e-6)
    assert limit.points[0][0] * 3600.0 == pytest.approx(made.survey.targets.empty_s)
    finding = next(f for a in made.answers for f in a.findings if f.code == "well-drain-down")
    assert finding.value_text in chart.title
    band = next(item for item in chart.items if isinstance(item, Polygon) and item.part == "soil")
    assert max(x for x, _ in band.points) > curve.points[-1][0] > 0.0


def test_fill_tests_are_dotted_on_the_drawdown() -> None:
    chart = picture("bungalow", "drawdown-W1", "", FILLS)
    dots = [item for item in chart.items if isinstance(item, Sign)]
    assert [dot.kind for dot in dots] == ["shot"] * 4
    assert [dot.at[1] for dot in dots] == pytest.approx([30 * 0.0254, 18 * 0.0254, 30 * 0.0254, 20 * 0.0254])
    trace = traces_of(designed("bungalow", "", FILLS)).drawdowns[0]
    assert (dots[1].at[0] - dots[0].at[0]) * 3600 == pytest.approx(trace.readings[0].well_time_s)
    words = [item.text for item in chart.items if isinstance(item, Label)]
    assert "F1, fill 1" in words and "F1, fill 2" in words
    one = next(p for p in drawn("bungalow", "", FILLS) if p.drawing.name == "drawdown-W1")
    assert one.placed is not None and not one.placed.unplaced
    assert not any(isinstance(item, Sign) for item in picture("bungalow", "drawdown-W1").items)


@pytest.mark.parametrize("name", ["bungalow", "old-system", "terrace"])
def test_the_mound_is_drawn_at_its_elevations(name: str) -> None:
    """Water rises by what was judged; the dimensions are bottom over high water and what the highest mound leaves of it."""
    made = designed(name)
    mound, well, high = made.behaviour.wells[0].mound, made.scheme.wells[0], made.survey.soil.high_water_m
    chart = picture(name, "mound-W1")
    curve = next(item for item in chart.items if isinstance(item, Polyline) and item.role == "curve")
    month = next(item for item in chart.items if isinstance(item, Polyline) and item.role == "water level")
    assert mound is not None and mound.month_m is not None and high is not None
    assert max(y for _, y in curve.points) - high == pytest.approx(mound.storm_m, rel=0.02)
    assert max(y for _, y in month.points) - high == pytest.approx(mound.month_m, rel=0.02)
    rest, left = [item for item in chart.items if isinstance(item, Dimension)]
    say = Say(made.survey.style)
    assert rest.text == say.distance(well.bottom_m - high)
    room = well.bottom_m - high - mound.rise_m
    assert left.end[1] - left.start[1] == pytest.approx(room, abs=0.03)
    assert left.text in chart.title
    judged = next(f for a in made.answers for f in a.findings if f.code == "mound-below-well")
    assert judged.value_text in chart.title


def test_an_unknown_high_water_is_asked_for() -> None:
    """Nothing is drawn; the sentence says what is missing and the words how to measure it."""
    mound = next(one for one in drawn("nothing-below-ground") if one.drawing.name == "mound-W1")
    assert mound.placed is None and mound.drawing.items == ()
    assert "is not known" in mound.drawing.title and "To measure" in mound.drawing.notes[0]
    view = next(v for v in picture_views(designed("nothing-below-ground")) if "mound" in v["title"])
    assert view["svg"] == ""


def test_axes_have_the_units_of_the_job() -> None:
    """Depths in feet or meters, at round values of that unit."""
    for units, word, size in (("us", " ft", FOOT), ("metric", " m", 1.0)):
        chart = picture("bungalow", "drawdown-W1", units)
        ticks = [i for i in chart.items if isinstance(i, Label) and i.fixed and i.text.endswith(word)]
        assert len(ticks) >= 2
        for tick in ticks:
            assert tick.at[1] / size == pytest.approx(float(tick.text.removesuffix(word)))


def test_results_hold_the_same_lines() -> None:
    """What the page draws from: whole arrays, of the same design, to six figures."""
    made = designed("bungalow")
    told, found = results(made)["pictures"], traces_of(made)
    assert told["storms"][0]["depth_m"] == pytest.approx(found.storms[0].depth_m.tolist(), rel=1e-5)
    assert len(told["spills"]["at"]) == len(told["spills"]["volume_m3"]) == made.behaviour.record.spill_events  # type: ignore[union-attr]
    assert told["drawdowns"][0]["drain_s"] == pytest.approx(made.behaviour.wells[0].drain_time_s, rel=1e-5)
    assert len(told["mounds"][0]["distance_m"]) == len(told["mounds"][0]["storm_m"])
    assert results(designed("sloping-lot"))["pictures"] == {
        "storms": [],
        "spills": None,
        "drawdowns": [],
        "mounds": [],
    }


def test_round_steps_and_hours() -> None:
    """1, 2, 5 times a power of ten, by hand; hours as on a clock."""
    assert [round_step(least) for least in (0.11, 0.2, 0.3, 1.0, 1.1, 6.0)] == [
        (0.2, 1), (0.2, 1), (0.5, 1), (1.0, 0), (2.0, 0), (10.0, 0),
    ]  # fmt: skip
    assert [text for text, _ in hour_ticks(50.0)] == [
        "0 h",
        "6 h",
        "12 h",
        "18 h",
        "24 h",
        "30 h",
        "36 h",
        "42 h",
        "48 h",
    ]
    assert [text for text, _ in length_ticks(0.0, 5 * FOOT, "us")] == ["0", "1", "2", "3", "4", "5"]
    assert hour_ticks(40000.0)[1][1] == pytest.approx(4560.0)


def test_a_thinned_line_keeps_its_corners() -> None:
    points = [(n / 100, math.floor(n / 100)) for n in range(301)]
    kept = thinned(points, along=0.001, upward=0.001)
    assert kept[0] == points[0] and kept[-1] == points[-1] and len(kept) <= 8
    x = [p[0] for p in points]
    assert np.interp(x, *zip(*kept, strict=True)) == pytest.approx([p[1] for p in points], abs=2e-3)


def test_29_february_has_a_place() -> None:
    from datetime import datetime

    assert day_of_year(datetime(1988, 2, 29)) == 59.0
    assert day_of_year(datetime(1989, 3, 1)) == day_of_year(datetime(1988, 3, 1)) == 60.0
    assert day_of_year(datetime(1989, 12, 31, 12)) == 365.5
