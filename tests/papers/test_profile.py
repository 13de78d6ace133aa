"""The long section of a way: its strip of figures, its three water levels, what lies over it."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from roofwell.papers.drawing.model import Label, Polygon, Polyline, Strip, StripColumn
from roofwell.papers.drawing.over_way import hand_dig_spans, paved_items
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.strip import PlacedStrip, place_strip
from roofwell.papers.drawing.way import unroll
from roofwell.papers.drawing.way_water import way_water
from roofwell.papers.set.sheets import placed_drawings
from roofwell.papers.texts import Say
from roofwell.system.behaviour import RunFlow, Surfacing

from . import house

FT = 0.3048


def cells(strip: Strip, at: str) -> dict[str, str]:
    column = next(column for column in strip.columns if column.cells[0] == at)
    return dict(zip(strip.rows, column.cells, strict=True))


def test_figures_at_a_station_are_those_of_the_scheme() -> None:
    """By hand at D1: ground 98.80; invert 97.30; crown 97.30 + 3.975/12 = 97.63; wall (4.215 - 3.975)/2 =
    0.12 in, so cover = (98.80 - 97.30) x 12 - 3.975 - 0.12 = 13.9 in; full well 98.05; cloudburst 98.46."""
    strip = profile(house.design(), "D1").strip
    assert strip is not None
    found = cells(strip, "D1")
    assert (found["ground, ft"], found["cover, in"], found["crown, ft"]) == ("98.80", "13.9", "97.63")
    assert (found["invert, ft"], found["water, well full"]) == ("97.30", "98.05")
    assert found["water, 10-year cloudburst"] == "98.46"


def test_a_basin_has_a_column_for_the_pipe_in_and_one_for_the_pipe_out() -> None:
    """At its walls, 1 ft to either side of 0+47.5: 96.83 + 0.04/4.5 and 96.73 - 0.15/14.5."""
    strip = profile(house.design(), "D1").strip
    assert strip is not None
    assert cells(strip, "B1 in")["invert, ft"] == "96.84" and cells(strip, "B1 out")["invert, ft"] == "96.72"
    assert (
        cells(strip, "B1 in")["station, ft"] == "0+46.5" and cells(strip, "B1 out")["station, ft"] == "0+48.5"
    )
    assert cells(strip, "Y1")["invert, ft"] == "96.87"


def test_a_crossing_has_a_column() -> None:
    """The electric line crosses 6.7 ft beyond B1, at 47.5 + 6.7 = 54.2 ft."""
    strip = profile(house.design(), "D1").strip
    assert strip is not None
    assert cells(strip, "E1")["station, ft"] == "0+54.2"


def test_dry_weather_level_is_what_the_basin_keeps_back() -> None:
    """A basin whose outlet is at 97.00 keeps water in the pipe that comes in at 96.83 and up to 97.00 in it."""
    base = house.design()
    high = replace(base.scheme.basins[0], outlet_invert_m=97.00 * FT)
    design = replace(base, scheme=replace(base.scheme, basins=(high,)))
    way = unroll(design.scheme, "D1")
    water = way_water(design, way)
    p3, p4 = way.runs[1], way.runs[2]
    assert water.left_at(p3, p3.length_m) == pytest.approx(97.00 * FT)
    assert water.left_at(p4, 0.0) is None
    drawing = profile(design, "D1")
    assert any(isinstance(i, Polygon) and i.fill == "water left" and i.part == "P3" for i in drawing.items)
    assert drawing.strip is not None and cells(drawing.strip, "B1 in")["water left standing"] == "97.00"


def test_weep_holes_let_the_basin_run_dry() -> None:
    base = house.design()
    weeping = replace(base.scheme.basins[0], outlet_invert_m=97.00 * FT, weep_holes=4)
    design = replace(base, scheme=replace(base.scheme, basins=(weeping,)))
    drawing = profile(design, "D1")
    assert not any(isinstance(i, Polygon) and i.fill == "water left" for i in drawing.items)


def test_full_level_is_the_lip_and_ends_where_it_meets_the_pipe() -> None:
    """Lip 98.05 stands over every invert of the way, so the line reaches the downspout."""
    drawing = profile(house.design(), "D1")
    line = next(i for i in drawing.items if isinstance(i, Polyline) and i.role == "water full")
    assert {round(z / FT, 9) for _, z in line.points} == {98.05}
    assert line.points[0][0] == pytest.approx(0.0)


def test_only_hands_dig_within_two_feet_of_a_buried_line() -> None:
    """P4 runs from (54, 19) to (67, 12.5): 14.534 ft on plan for 14.5 ft of pipe; the electric line stands at
    x = 60. Within 24 in of it lies x = 58 to 62: 4 to 8 of 13 ft along x, so 4/13 and 8/13 of 14.5 ft from
    47.5 ft on: 51.96 and 56.42. The crossing itself is at 54.2, 24 in each side lie inside."""
    base = house.design()
    spans = hand_dig_spans(base.survey, unroll(base.scheme, "D1"))
    near = [span for span in spans if span[1] > 49 * FT]
    assert len(near) == 1
    assert near[0][0] / FT == pytest.approx(47.5 + 14.5 * 4 / 13, abs=0.02)
    assert near[0][1] / FT == pytest.approx(47.5 + 14.5 * 8 / 13, abs=0.02)


def test_a_walk_over_the_way_is_drawn_where_it_lies() -> None:
    """A walk 4 ft wide square over P1 (along y = 21) from x = 20 to 24: 3 + 10 to 3 + 14 of 43 ft of path."""
    base = house.design()
    over = replace(base.survey.features[1], points=house.ft((20, 10), (24, 10), (24, 23), (20, 23)))
    survey = replace(base.survey, features=(base.survey.features[0], over))
    slab = next(i for i in paved_items(survey, unroll(base.scheme, "D1")) if isinstance(i, Polygon))
    assert slab.fill == "paved"
    assert min(x for x, _ in slab.points) / FT == pytest.approx(13.0, abs=1e-6)
    assert max(x for x, _ in slab.points) / FT == pytest.approx(17.0, abs=1e-6)


def test_an_outlet_to_daylight_knows_no_full_well() -> None:
    drawing = profile(house.daylight(), house.daylight().scheme.downspouts[0].id)
    assert drawing.strip is not None and "water, well full" not in drawing.strip.rows
    assert all("well full" not in mark.words for mark in drawing.key)


@pytest.mark.parametrize("style", ["us", "metric"])
def test_no_column_of_the_strip_lies_on_another(style: str) -> None:
    for placed in placed_drawings(house.design(style=style)).profiles:
        assert placed.strip is not None and placed.strip.columns
        for a, b in itertools.pairwise(placed.strip.columns):
            widths = [max(len(c) for c in one.column.cells) for one in (a, b)]
            assert b.x_pt - a.x_pt > 0.25 * 8.25 * sum(widths), (a.column.cells, b.column.cells)
        assert all(0 < one.x_pt < placed.width_pt for one in placed.strip.columns)


def test_a_crowd_of_needed_columns_is_spread_and_what_finds_no_room_is_left_away() -> None:
    columns = tuple(StripColumn(0.01 * n, (f"P{n}", "100.00"), needed=n % 2 == 0) for n in range(12))
    placed: PlacedStrip = place_strip(
        Strip(("at", "ground"), columns), x_of=lambda x: 100 + 10 * x, left_pt=20, right_pt=400, top_pt=0.0
    )
    shown = [one.column.cells[0] for one in placed.columns]
    assert shown == [f"P{n}" for n in range(0, 12, 2)]
    gaps = [b.x_pt - a.x_pt for a, b in itertools.pairwise(placed.columns)]
    assert min(gaps) > 25 and max(one.x_pt for one in placed.columns) < 400
    middle = sum(one.x_pt for one in placed.columns) / len(placed.columns)
    assert middle == pytest.approx(100.5, abs=25)


def test_a_station_reads_question_marks_where_nothing_is_known() -> None:
    drawing = profile(house.broken_levels(), "D1")
    assert Say("us").level(math.nan) == "?"
    if drawing.strip is not None:
        assert "ground, ft" not in drawing.strip.rows


def _flow(**more: object) -> RunFlow:
    base = house.behaviour().runs[0]
    return replace(base, **more)  # type: ignore[arg-type]


def test_rapid_flow_is_drawn_at_its_normal_depth_with_an_upright_jump() -> None:
    """P1: 43 ft from 97.30 to 96.87, bore 3.975 in. Normal depth 0.3 of it; jump 10 ft above the lower end."""
    design = house.design()
    run = design.scheme.runs[0]
    down = run.downstream_invert_m + 0.09
    flow = _flow(
        slope_class="steep", depth_ratio=0.3, jump_m=10 * FT, level_up_m=run.upstream_invert_m + 0.05,
        level_down_m=down, full_length_m=0.0,
    )  # fmt: skip
    behaviour = replace(design.behaviour, runs=(flow, *design.behaviour.runs[1:]))
    water = way_water(replace(design, behaviour=behaviour), unroll(design.scheme, "D1"))
    invert_at_20 = (97.30 - 0.43 * 20 / 43) * FT
    assert water.peak_at(run, 20 * FT) == pytest.approx(invert_at_20 + 0.3 * 3.975 * 0.0254)
    assert water.peak_at(run, 38 * FT) == pytest.approx(down)
    assert sum(station == pytest.approx(33 * FT) for station, _ in water.peak["P1"]) == 2


def test_where_the_lower_part_runs_full_the_surface_leaves_the_crown() -> None:
    """Full over the lower 13 of 43 ft: at 30 ft the water stands at the crown, 97.00 + 3.975/12."""
    design = house.design()
    run = design.scheme.runs[0]
    flow = _flow(slope_class="mild", full_length_m=13 * FT)
    behaviour = replace(design.behaviour, runs=(flow, *design.behaviour.runs[1:]))
    water = way_water(replace(design, behaviour=behaviour), unroll(design.scheme, "D1"))
    assert water.peak_at(run, 30 * FT) == pytest.approx((97.00 + 3.975 / 12) * FT)


def test_what_comes_out_and_the_storm_that_does_so_first_are_said() -> None:
    base = house.design()
    at_b1 = replace(base.behaviour.levels[1], peak_m=98.65 * FT, comes_out_m3_s=0.001)
    first = Surfacing(6 * 3600.0, 3 * 3600.0, "B1", "basin grate", 0.0005)
    behaviour = replace(base.behaviour, levels=(base.behaviour.levels[0], at_b1), surfacing=(first,))
    notes = " ".join(profile(replace(base, behaviour=behaviour), "D1").notes)
    assert "16 gpm come out at B1" in notes and "3.0 in higher" in notes  # 98.65 - 98.40 = 0.25 ft
    assert "that of 6 h comes out at B1, first after 3 h" in notes


def test_the_largest_of_an_open_range_is_drawn_too() -> None:
    """Its outline on the plan, its section after the smallest, both marked."""
    small = house.scheme()
    large = replace(small, wells=(replace(small.wells[0], bodies=4, pit_length_m=19 * FT),))
    design = house.design(scheme_large=large, open_sizes="two to four bodies; the soil decides")
    outline = next(i for i in plan(design).items if isinstance(i, Polygon) and i.role == "largest")
    assert outline.points == large.wells[0].pit_corners
    titles = [placed.drawing.title for placed in placed_drawings(design).details]
    assert titles[:2] == [
        "W1: well in its stone surround, at its smallest",
        "W1: well in its stone surround, at its largest",
    ]
    assert not any(i for i in plan(house.design()).items if getattr(i, "role", "") == "largest")


def test_a_cleanout_rises_from_the_crown_to_the_ground() -> None:
    """P1 has one 20 ft from its upper end: a riser as wide as the bore, from the pipe's crown to the ground."""
    base = house.design()
    run = next(run for run in base.scheme.runs if any(f.kind == "cleanout" for f in run.fittings))
    drawing = profile(base, "D1")
    way = unroll(base.scheme, "D1")
    x = way.starts_m[way.runs.index(run)] + 20 * FT
    crown = run.upstream_invert_m - 20 * FT * run.slope_m_m + run.inside_diameter_m
    sides = [
        item.points
        for item in drawing.items
        if isinstance(item, Polyline) and item.part == run.id and item.role == "wall" and len(item.points) == 2
        and item.points[0][0] == item.points[1][0]
    ]  # fmt: skip
    assert [round(a[0] - x, 6) for a, _ in sides] == [
        pytest.approx(sign * run.inside_diameter_m / 2, abs=1e-6) for sign in (-1, 1)
    ]
    for low, high in sides:
        assert low[1] == pytest.approx(crown)
        assert high[1] == pytest.approx(way.ground_at(x))
    assert any(isinstance(i, Label) and i.text.startswith("cleanout") for i in drawing.items)
