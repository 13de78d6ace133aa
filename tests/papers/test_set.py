"""The set as a reader holds it: true to scale, whole, honest about what is not known, the same twice."""

from __future__ import annotations

import io
from dataclasses import replace

import pdfplumber
import pytest
from pypdf import PdfReader

from roofwell.checks.finding import Overruled
from roofwell.checks.overrules import Notice
from roofwell.design.result import Design
from roofwell.papers.set import make_set, set_data

from . import house


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.fixture(scope="module")
def wet() -> bytes:
    return make_set(house.design())


def test_letter_for_feet_and_a4_for_meters(wet: bytes) -> None:
    box = PdfReader(io.BytesIO(wet)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612.0, 792.0)
    metric = make_set(house.design(style="metric"))
    box = PdfReader(io.BytesIO(metric)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((595.28, 841.89), abs=0.01)


def test_house_is_drawn_true_to_the_scale_that_is_printed(wet: bytes) -> None:
    """3/32 in = 1 ft is 6.75 points a foot: a house of 40 by 25 ft measures 270 by 168.75 points on paper."""
    with pdfplumber.open(io.BytesIO(wet)) as pdf:
        page = next(page for page in pdf.pages if "Site plan" in (page.extract_text() or ""))
        assert "3/32 in = 1 ft" in page.extract_text()
        shapes = [*page.rects, *page.curves]
        sizes = {(round(float(s["width"]), 1), round(float(s["height"]), 1)) for s in shapes}
    assert any(abs(w - 270.0) < 0.1 and abs(h - 168.75) < 0.1 for w, h in sizes), sorted(sizes)[-8:]


def test_metric_house_is_true_to_scale() -> None:
    """1:200: a house 12.192 m long is 60.96 mm, 172.8 points on paper."""
    with pdfplumber.open(io.BytesIO(make_set(house.design(style="metric")))) as pdf:
        page = next(page for page in pdf.pages if "Site plan" in (page.extract_text() or ""))
        scale = next(word for word in ("1:100", "1:200", "1:250") if word in page.extract_text())
        sizes = [float(s["width"]) for s in (*page.rects, *page.curves)]
    expected = 12.192 / int(scale[2:]) / 0.0254 * 72
    assert any(abs(width - expected) < 0.1 for width in sizes)


def test_fonts_are_embedded_and_ours(wet: bytes) -> None:
    fonts = {}
    for page in PdfReader(io.BytesIO(wet)).pages:
        for font in (page["/Resources"].get("/Font") or {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = inner["/FontDescriptor"].get_object()
            fonts[str(descriptor["/FontName"])] = any(key.startswith("/FontFile") for key in descriptor)
    assert fonts and all(fonts.values())
    assert all("RoofwellPark" in name for name in fonts), fonts


def test_same_job_same_bytes(wet: bytes) -> None:
    assert make_set(house.design()) == wet


def test_date_is_the_jobs_and_never_todays(wet: bytes) -> None:
    text = text_of(wet)
    assert "4 May 2026" in text and "revision C" in text
    created = PdfReader(io.BytesIO(wet)).metadata
    assert created is not None and str(created.get("/CreationDate", "D:20260504")).startswith("D:20260504")


def test_a_job_without_a_date_has_the_same_bytes_too() -> None:
    design = house.design(job=house.job(date=None, revision=None))
    first = make_set(design)
    assert first == make_set(design)
    assert "no date given" in text_of(first)


def test_not_for_digging_stands_on_every_side_while_something_is_awaited(wet: bytes) -> None:
    for page in PdfReader(io.BytesIO(wet)).pages:
        assert "NOT FOR DIGGING" in page.extract_text()
    assert "depth of the electric line at 0+56" in text_of(wet)


def test_not_for_digging_is_gone_when_nothing_is_awaited() -> None:
    assert "NOT FOR DIGGING" not in text_of(make_set(house.design(waits=())))


def test_all_nine_questions_verdicts_numbers_and_limits_are_there(wet: bytes) -> None:
    text = text_of(wet)
    for answer in house.answers():
        assert answer.title in text and answer.sentence in text
        if answer.governing is not None:
            assert answer.governing.value_text in text and answer.governing.limit_text in text
    for word in ("good", "close", "unknown"):
        assert word in text


@pytest.mark.parametrize("make", [house.design, house.daylight, house.broken_levels])
def test_every_assumed_value_is_printed_with_how_to_measure_it(make: object) -> None:
    design: Design = make()  # type: ignore[operator]
    text = text_of(make_set(design))
    for assumed in design.assumed:
        assert assumed.what in text and assumed.text in text and assumed.how_to_measure in text


def test_many_assumptions_are_all_listed() -> None:
    one = house.assumed()[0]
    many = tuple(replace(one, path=f"x{n}", what=f"thing number {n}", text=f"{n} %") for n in range(40))
    text = text_of(make_set(house.design(assumed=many)))
    for assumed in many:
        assert assumed.what in text


def test_words_of_a_person_are_printed_as_they_stand() -> None:
    evil = '#panic("x") *b* $1$ <l> @ref [c] \\ `r` // y'
    base = house.design(job=house.job(name=evil, customer=evil))
    found = replace(base.answers[0].governing, sentence=evil, value_text=evil)  # type: ignore[arg-type, type-var]
    answer = replace(base.answers[0], sentence=evil, governing=found, findings=(found,))
    text = text_of(make_set(replace(base, answers=(answer, *base.answers[1:]), waits=(evil,))))
    assert text.count('#panic("x") *b* $1$ <l>') >= 4


def test_overrules_are_printed_with_reason_and_person() -> None:
    base = house.design()
    found = base.answers[6].governing
    assert found is not None
    aside = replace(found, overruled=Overruled("The owner dug a test hole.", "R. Example", "2026-05-02"))
    answer = replace(base.answers[6], governing=aside, findings=(aside,))
    text = text_of(make_set(replace(base, answers=(*base.answers[:6], answer, *base.answers[7:]))))
    assert "The owner dug a test hole." in text and "R. Example" in text and "2026-05-02" in text


def test_an_overrule_without_effect_is_printed_with_the_reason() -> None:
    notice = Notice("overrules[0]", "setback W1", "law is never set aside")
    text = text_of(make_set(replace(house.design(), notices=(notice,))))
    assert "without effect" in text and "setback W1: law is never set aside." in text


def test_open_sizes_show_the_smallest_and_the_largest() -> None:
    small = house.scheme()
    large = replace(small, wells=(replace(small.wells[0], bodies=4),))
    text = text_of(
        make_set(house.design(scheme_large=large, open_sizes="Two to four bodies; the soil decides."))
    )
    assert "Two to four bodies; the soil decides." in text and "2 of 2′ 6″" in text and "4 of 2′ 6″" in text


def test_cautions_stand_on_the_set(wet: bytes) -> None:
    text = text_of(wet)
    for words in (
        "located and marked",
        "Fence and cover",
        "septic tanks",
        "foundations",
        "licensed professional",
    ):
        assert words in text


def test_levels_are_the_inverts_of_the_scheme(wet: bytes) -> None:
    """P1 falls 0.43 ft in 43 ft from 97.30: at 0+10 its invert is 97.20. At the walls of B1 96.84 and 96.72
    (96.83 + 0.04/4.5, 96.73 - 0.15/14.5), at that of W1's body 96.59 (96.58 + 1.25 x 0.15/14.5)."""
    text = text_of(wet)
    for level in ("97.30", "97.20", "96.87", "96.84", "96.72", "96.59", "93.50", "98.05"):
        assert level in text


def test_what_is_not_known_reads_as_a_question_mark() -> None:
    text = text_of(make_set(house.broken_levels()))
    assert "nan" not in text.lower().replace("finance", "") and "?" in text and "not measured" in text


def test_an_empty_scheme_still_makes_a_paper() -> None:
    bare = replace(
        house.scheme(), downspouts=(), wyes=(), basins=(), wells=(), overflows=(), outlets=(), runs=()
    )
    survey = replace(
        house.survey(), features=(), buildings=(), roofs=(), shots=(), neighbors=(), ground_known=False
    )
    takeoff = replace(house.takeoff(), items=(), unpriced=())
    behaviour = replace(
        house.behaviour(), runs=(), levels=(), wells=(), basins=(), downspouts=(), standing=()
    )
    design = house.design(scheme=bare, survey=survey, takeoff=takeoff, behaviour=behaviour)
    assert "NOT FOR DIGGING" in text_of(make_set(design))


def test_counts_lead_to_lists_of_that_length() -> None:
    rests = set_data(house.design())["rests"]
    counts = {entry["word"]: entry["count"] for entry in rests["counts"]}
    assert counts == {"given": "4", "designed": "1", "assumed": "3", "missing": "1"}
    assert len(rests["assumed"]) == 3 and len(rests["missing"]) == 1
    assert house.design().rests_on == {"given": 4, "designed": 1, "assumed": 3, "missing": 1}


def test_a_value_assumed_for_several_parts_is_listed_once_with_all_of_them() -> None:
    one = house.assumed()[0]
    same = tuple(replace(one, path=f"W{n}.voids") for n in (1, 2, 3))
    rows = set_data(house.design(assumed=same))["rests"]["assumed"]
    assert [row["parts"] for row in rows] == ["W1, W2 and W3"]


def test_what_one_answer_waits_for_stands_in_one_line() -> None:
    waits = (
        "7 Is it safe? lot line, septic tank",
        "7 Is it safe? septic tank",
        "5 Does it hold? W1: 52 h, at most 36 h",
    )
    band = set_data(house.design(waits=waits))["band"]
    assert band["waits"] == ["7 Is it safe? lot line; septic tank", "5 Does it hold? W1: 52 h, at most 36 h"]


def test_every_limit_names_its_source_by_a_number_that_is_listed(wet: bytes) -> None:
    data = set_data(house.design())
    listed = {source["number"] for source in data["sources"]}
    assert {row["source"] for row in data["findings"]} | {
        row["source"] for row in data["rests"]["assumed"]
    } == listed
    assert "Habit of the trade" in text_of(wet)
