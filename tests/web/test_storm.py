"""The storm, the pictures and the grounds of the answers, as the page asks for them."""

from __future__ import annotations

import re

import pytest

from roofwell import examples
from roofwell.design import design
from roofwell.job import read_file
from roofwell.papers.set import set_data
from roofwell.store import open_store
from roofwell.web.demo import with_demo


def _demo(page) -> str:
    return page.post("/api/jobs", json={"example": "bungalow"}).json()["job"]


def _ask(**more: object) -> dict[str, object]:
    return {"base": 1, "edits": [], "page": "one", **more}


def test_the_storm_follows_an_edit_that_is_not_saved(page) -> None:
    job = _demo(page)
    before = page.post(f"/api/jobs/{job}/storm", json=_ask()).json()["storm"]
    edit = {"path": "targets.storm", "value": "100 yr"}
    after = page.post(f"/api/jobs/{job}/storm", json=_ask(edits=[edit])).json()["storm"]
    assert before["title"].startswith("The 10-year storm")
    assert after["title"].startswith("The 100-year storm")
    assert max(after["curve"]["rain"]) > max(before["curve"]["rain"])


def test_a_job_that_leads_nowhere_has_no_storm(page) -> None:
    job = page.post("/api/jobs", json={"document": 'document = 1\n[job]\nname = "Empty"\n'}).json()["job"]
    assert page.post(f"/api/jobs/{job}/storm", json=_ask()).json() == {"storm": None}


def test_a_document_that_cannot_be_read_has_neither_storm_nor_pictures(page) -> None:
    job = page.post("/api/jobs", json={"document": "this is = no [ TOML"}).json()["job"]
    assert page.post(f"/api/jobs/{job}/storm", json=_ask()).json() == {"storm": None}
    assert page.post(f"/api/jobs/{job}/pictures", json=_ask()).json() == []


def test_pictures_are_drawn_or_say_what_is_missing(page) -> None:
    job = _demo(page)
    found = page.post(f"/api/jobs/{job}/pictures", json=_ask()).json()
    assert [one["view"] is not None for one in found] == [True] * 3
    names = [one["view"]["name"] for one in found]
    assert names[0] == "storm-W1"
    assert "spills" not in names  # the page has a chart of its own for them
    edits = [{"path": f"soil.{leaf}", "value": None} for leaf in ("seasonal_high_water_depth",)]
    found = page.post(f"/api/jobs/{job}/pictures", json=_ask(edits=edits)).json()
    without = [one for one in found if one["view"] is None]
    assert len(without) == 1
    assert "how high the groundwater stands" in without[0]["title"]


def test_the_years_tell_every_spill_and_follow_an_edit(page) -> None:
    job = _demo(page)
    found = page.post(f"/api/jobs/{job}/years", json=_ask()).json()["years"]
    assert found["title"].startswith(f"{len(found['spills'])} spills in {found['years']} years")
    assert max(spill["share"] for spill in found["spills"]) == 1.0
    for spill in found["spills"]:
        assert found["first"] <= spill["year"] < found["first"] + found["years"]
        assert 0 <= spill["day"] <= 366
        assert str(spill["year"]) in spill["at"]
        assert all(spill[name] for name in ("rain", "rain_time", "left", "left_time", "stood"))
    edit = {"path": "targets.storm", "value": "50 yr"}
    larger = page.post(f"/api/jobs/{job}/years", json=_ask(edits=[edit])).json()["years"]
    assert 0 <= len(larger["spills"]) < len(found["spills"])


def test_no_well_has_no_years_and_no_record_says_what_to_look_up(page) -> None:
    job = page.post("/api/jobs", json={"example": "sloping-lot"}).json()["job"]
    assert page.post(f"/api/jobs/{job}/years", json=_ask()).json() == {"years": None}
    empty = page.post("/api/jobs", json={"document": "this is = no [ TOML"}).json()["job"]
    assert page.post(f"/api/jobs/{empty}/years", json=_ask()).json() == {"years": None}
    assert page.post(f"/api/jobs/{empty}/full-well", json=_ask()).json() == {"view": None}


def test_the_full_well_section_comes_with_the_water_of_every_moment(page) -> None:
    job = _demo(page)
    view = page.post(f"/api/jobs/{job}/full-well", json=_ask()).json()["view"]
    assert view["name"] == "full-well"
    assert view["along"] == pytest.approx(view["up"])  # nothing is stretched
    assert "below the threshold of the kitchen door" in view["svg"]
    storm = page.post(f"/api/jobs/{job}/storm", json=_ask()).json()["storm"]
    wet = [one["full_well"] for one in storm["instants"] if one["full_well"]["body"]]
    assert len(wet) > 20
    for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", wet[len(wet) // 2]["surface"]):
        assert -1 <= view["left"] + (float(x) - view["x0"]) * view["along"] <= view["width"] + 1
        assert -1 <= view["top"] + (view["y1"] - float(y)) * view["up"] <= view["height"] + 1


def test_a_wall_can_be_drawn_whole_and_the_water_in_its_gutter_goes_up_with_it(page) -> None:
    """D1's gutter was measured, D4's was not: only the first is drawn whole, and its water stands over the lawn by that."""
    job = _demo(page)
    told = {}
    for whole in (True, False):
        answered = page.post(f"/api/jobs/{job}/answers", json=_ask(whole=whole)).json()
        storm = page.post(f"/api/jobs/{job}/storm", json=_ask(whole=whole)).json()["storm"]
        names = [view["name"] for view in answered["views"][1:]]
        hardest = storm["instants"][storm["hardest"]]["ways"]
        for name in ("profile-D1", "profile-D4"):
            water = hardest[names.index(name)]
            told[name, whole] = max(float(y) for y in re.findall(r" (-?[\d.]+)", water["surface"]))
            assert re.match(
                r"G[14] over D[14]: water [\d.]+ in deep, [\d.]+ in under its brim", water["says"]
            )
            view = answered["views"][1 + names.index(name)]
            assert view["y1"] >= told[name, whole]
    foot = 0.3048
    # the brim hangs 8 ft 7 in over the lawn at D1, the water somewhat under it
    assert 107.2 * foot < told["profile-D1", True] < 108.23 * foot
    assert told["profile-D1", False] < 103 * foot
    assert told["profile-D4", True] == told["profile-D4", False]


def test_every_finding_has_its_grounds(page) -> None:
    job = _demo(page)
    answered = page.post(f"/api/jobs/{job}/answers", json=_ask()).json()
    grounds = page.get("/api/grounds").json()
    findings = [finding for answer in answered["answers"] for finding in answer["findings"]]
    assert len(findings) > 40
    for finding in findings:
        assert grounds["checks"][finding["code"]]
        assert grounds["sources"].get(finding["source"], finding["source"])
    assert {finding["source"] for finding in findings} <= set(grounds["sources"]) | {"office rules"}


@pytest.mark.parametrize("example", ["bungalow", "terrace"])
def test_what_was_designed_can_be_kept_leaf_by_leaf_and_answers_stay(page, example: str) -> None:
    job = page.post("/api/jobs", json={"example": example}).json()["job"]
    before = page.post(f"/api/jobs/{job}/answers", json=_ask()).json()
    edits = [{"path": path, "value": value} for path, value in before["designed_values"].items()]
    assert len(edits) > 40
    after = page.post(f"/api/jobs/{job}/answers", json=_ask(edits=edits)).json()
    assert after["problems"] == before["problems"]
    assert after["designed_values"] == {}
    assert [(a["verdict"], a["sentence"]) for a in after["answers"]] == [
        (a["verdict"], a["sentence"]) for a in before["answers"]
    ]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_blank_field_sheet_is_a_paper_without_a_job(page, units: str) -> None:
    answer = page.get(f"/api/field-sheet.pdf?units={units}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")
    assert page.get("/api/field-sheet.pdf?units=furlongs").status_code == 422


def test_the_demo_is_put_into_an_empty_store_once(tmp_path) -> None:
    store = open_store(str(tmp_path / "jobs.sqlite"))
    first = with_demo(store)
    assert first is not None
    assert [job.id for job in store.jobs()] == [first]
    store.archive(first, archived=True)
    assert with_demo(store) is None
    store.close()


def test_the_page_counts_what_a_design_rests_on_as_side_one_does(page) -> None:
    job = _demo(page)
    counts = page.post(f"/api/jobs/{job}/answers", json=_ask()).json()["counts"]
    reading = read_file(examples.path("bungalow"))
    made = design(reading.job, folder=reading.folder, document=reading.document, beyond=False)
    side = {entry["word"]: int(entry["count"]) for entry in set_data(made)["rests"]["counts"]}
    assert counts == side
