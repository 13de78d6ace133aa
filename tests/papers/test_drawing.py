"""Drawings: true metres, labels that never meet, unknown values that are dashed and never a number."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from roofwell.design.result import Design
from roofwell.papers.drawing.basin_section import basin_section
from roofwell.papers.drawing.lettering import SIZES_PT, block_pt, width_pt
from roofwell.papers.drawing.model import Drawing, Label, Polygon, Polyline, Ring
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.scale import Scale, fit, ladder
from roofwell.papers.drawing.way import joins, unroll
from roofwell.papers.drawing.well_section import well_section
from roofwell.papers.render_svg import render
from roofwell.papers.set.sheets import placed_drawings

from . import house

DESIGNS = {
    "wet": house.design,
    "daylight": house.daylight,
    "not leveled": house.broken_levels,
    "metric": lambda: house.design(style="metric"),
    "many": house.many_spouts,
}


@pytest.fixture(params=sorted(DESIGNS))
def design(request: pytest.FixtureRequest) -> Design:
    return DESIGNS[request.param]()


def _placed(design: Design) -> tuple[Placed, ...]:
    found = placed_drawings(design)
    return (found.plan, *found.profiles, *found.details)


def test_no_two_labels_overlap_and_none_leaves_its_frame(design: Design) -> None:
    for placed in _placed(design):
        for one in placed.labels:
            assert one.box.left >= 0 and one.box.top >= 0, (placed.drawing.name, one.label.text)
            assert one.box.right <= placed.width_pt and one.box.bottom <= placed.height_pt, one.label.text
        for a, b in itertools.combinations(placed.labels, 2):
            assert not a.box.overlaps(b.box), (placed.drawing.name, a.label.text, b.label.text)


def test_every_label_is_drawn_or_listed_as_without_room(design: Design) -> None:
    for placed in _placed(design):
        texts = [one.label.text for one in placed.labels] + [label.text for label in placed.unplaced]
        for item in placed.drawing.items:
            if isinstance(item, Label) and item.needed:
                assert item.text in texts


def test_no_picture_holds_a_nan(design: Design) -> None:
    for placed in _placed(design):
        svg = render(placed)
        assert "nan" not in svg and "inf" not in svg.replace("infiltration", "")


def test_house_on_the_plan_is_as_large_as_the_house() -> None:
    drawing = plan(house.design())
    outline = next(item for item in drawing.items if isinstance(item, Polygon) and item.role == "house")
    xs, ys = zip(*outline.points, strict=True)
    assert max(xs) - min(xs) == pytest.approx(40 * 0.3048, abs=1e-9)
    assert max(ys) - min(ys) == pytest.approx(25 * 0.3048, abs=1e-9)


def test_profile_stations_are_the_lengths_of_the_runs_added_up() -> None:
    way = unroll(house.scheme(), "D1")
    assert way.length_m == pytest.approx((43 + 4.5 + 14.5) * 0.3048)
    assert way.station_of("B1") == pytest.approx(47.5 * 0.3048)
    assert way.station_of("nowhere") is None


def test_profile_draws_both_walls_of_each_pipe_at_its_inverts() -> None:
    drawing = profile(house.design(), "D1")
    walls = [
        item
        for item in drawing.items
        if isinstance(item, Polyline) and item.role == "pipe" and item.part == "P1"
    ]
    ends = sorted(wall.points[0][1] / 0.3048 for wall in walls)
    assert ends == pytest.approx([97.30, 97.30 + 3.975 / 12], abs=1e-9)


def test_every_way_is_drawn_to_its_end_and_shorter_ones_are_known_to_meet_a_longer_one() -> None:
    assert joins(house.scheme()) == {"D1": None, "D2": ("Y1", "D1")}
    titles = [profile(house.design(), spout).title for spout in ("D1", "D2")]
    assert titles == ["From D1 to W1", "From D2 to W1"]
    placed = placed_drawings(house.design())
    assert [one.drawing.title for one in placed.profiles] == titles


def test_ground_that_was_not_measured_is_dashed_and_said() -> None:
    drawing = profile(house.broken_levels(), "D1")
    roles = {item.role for item in drawing.items if isinstance(item, Polyline)}
    assert "ground guessed" in roles and "ground" not in roles
    assert any("not measured" in note for note in drawing.notes)


def test_unknown_well_levels_are_said_in_words() -> None:
    design = house.broken_levels()
    drawing = well_section(design, design.scheme.wells[0], design.scheme)
    assert any("not known" in item.text for item in drawing.items if isinstance(item, Label))


def test_answers_that_are_not_good_stand_in_rings_at_their_parts() -> None:
    rings = [(item.number, item.failing) for item in plan(house.design()).items if isinstance(item, Ring)]
    assert rings == [(2, False), (7, False)]
    failing = house.design(answers=house.answers("fails"))
    assert (7, True) in [(r.number, r.failing) for r in plan(failing).items if isinstance(r, Ring)]


def test_a_far_lot_line_does_not_shrink_the_plan() -> None:
    base = house.survey()
    far = replace(base.features[0], points=house.ft((-400, -300), (500, -300), (500, 400), (-400, 400)))
    drawing = plan(house.design(survey=replace(base, features=(far, *base.features[1:]))))
    assert drawing.width_m < 40 and any("cut off" in note for note in drawing.notes)
    left, bottom, right, top = drawing.bounds
    for item in drawing.items:
        if isinstance(item, Polyline):
            assert all(
                left - 1e-9 <= x <= right + 1e-9 and bottom - 1e-9 <= y <= top + 1e-9 for x, y in item.points
            )


def test_crowded_labels_are_listed_and_never_piled_up() -> None:
    items = tuple(Label(f"label number {n}", (0.5, 0.5)) for n in range(60))
    placed = place(
        Drawing("crowd", "crowd", items, (0.0, 0.0, 1.0, 1.0)),
        scale=Scale("1:20", 20.0),
        width_pt=150,
        height_pt=150,
    )
    assert placed.unplaced and len(placed.labels) + len(placed.unplaced) == 60
    for a, b in itertools.combinations(placed.labels, 2):
        assert not a.box.overlaps(b.box)


def test_scale_of_the_ruler_is_the_largest_that_fits() -> None:
    """1/8 in = 1 ft is 9 points a foot: 40 ft need 360 points."""
    scale = fit(
        width_m=40 * 0.3048, height_m=1.0, width_pt=360.001, height_pt=500, scales=ladder("plan", "us")
    )
    assert scale.text == "1/8 in = 1 ft"
    assert scale.points_m * 0.3048 == pytest.approx(9.0)
    smaller = fit(
        width_m=40 * 0.3048, height_m=1.0, width_pt=359.9, height_pt=500, scales=ladder("plan", "us")
    )
    assert smaller.times_smaller > scale.times_smaller


def test_widths_of_words_agree_with_the_typesetter(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Words as wide as typst measures them, to 2 % (it kerns), in both weights."""
    typst = pytest.importorskip("typst")
    from importlib import resources

    words = ["P1  4 in, 1.0 %", "lowest opening 99.35", "7′ 10 1/4″ × 3", "Wavy AVATAR Tj"]
    template = (
        '#set text(font: "Roofwell Park", size: 100pt)\n'
        "#context for (n, w) in json(bytes(sys.inputs.w)).enumerate() [\n"
        "  #metadata((400, 640).map(it => measure(text(weight: it, w)).width.pt())) <w>\n]"
    )
    import json

    with resources.as_file(resources.files("roofwell.papers") / "fonts") as folder:
        found = typst.query(
            template.encode(),
            "<w>",
            field="value",
            sys_inputs={"w": json.dumps(words)},
            ignore_system_fonts=True,
            font_paths=[str(folder)],
        )
    for word, (plain, strong) in zip(words, json.loads(found), strict=True):
        assert width_pt(word, size_pt=100) == pytest.approx(plain, rel=0.02)
        assert width_pt(word, size_pt=100, strong=True) == pytest.approx(strong, rel=0.02)


def test_block_of_two_lines_is_higher_by_one_leading() -> None:
    one, two = block_pt("a", size_pt=10), block_pt("a\na", size_pt=10)
    assert two[0] == one[0] and two[1] - one[1] == pytest.approx(11.6)
    assert min(SIZES_PT.values()) >= 8 and math.isfinite(one[1])


def test_a_neighbor_is_drawn_once() -> None:
    base = house.survey()
    both = replace(base, features=(*base.features, *base.neighbors))
    drawn = [
        item for item in plan(house.design(survey=both)).items if getattr(item, "role", "") == "neighbor"
    ]
    assert len(drawn) == 1


def test_water_stands_in_the_pipe_above_a_basin_with_a_low_inlet() -> None:
    """Inlet 0.40 ft under the outlet: a 4 in pipe stands full where it comes in."""
    design = house.design()
    low = replace(design.scheme.basins[0], inlet_invert_m=(96.73 - 0.40) * 0.3048)
    runs = tuple(
        replace(run, downstream_invert_m=low.inlet_invert_m, upstream_invert_m=low.inlet_invert_m)
        if run.id == "P3"
        else run
        for run in design.scheme.runs
    )
    drawing = basin_section(design, low, replace(design.scheme, runs=runs, basins=(low,)))
    wet = [i for i in drawing.items if isinstance(i, Polygon) and i.role == "water left" and i.part == "P3"]
    assert len(wet) == 1
    heights = [y for _, y in wet[0].points]
    assert max(heights) - min(heights) == pytest.approx(3.975 * 0.0254)
    level = basin_section(design, design.scheme.basins[0], design.scheme)
    assert not [
        i for i in level.items if isinstance(i, Polygon) and i.role == "water left" and i.part == "P3"
    ]
