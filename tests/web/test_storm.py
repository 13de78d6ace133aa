"""The storm, the pictures and the grounds of the answers, as the page asks for them."""

from __future__ import annotations

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
    assert [one["view"] is not None for one in found] == [True] * 4
    names = [one["view"]["name"] for one in found]
    assert names[0] == "storm-W1"
    assert "spills" in names
    edits = [{"path": f"soil.{leaf}", "value": None} for leaf in ("seasonal_high_water_depth",)]
    found = page.post(f"/api/jobs/{job}/pictures", json=_ask(edits=edits)).json()
    without = [one for one in found if one["view"] is None]
    assert len(without) == 1
    assert "how high the groundwater stands" in without[0]["title"]


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
