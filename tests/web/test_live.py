"""An edit is answered at once with the sizes of before it, then whole; a newer question of the same page stops the older."""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from roofwell.store import Store, open_store
from roofwell.web.answering import Answering, Stood
from roofwell.web.questions import Outdated


def _events(text: str) -> list[tuple[str, dict[str, Any]]]:
    """Events as the HTML standard has them, without progress."""
    out = []
    for block in text.split("\n\n"):
        fields = dict(line.split(": ", 1) for line in block.splitlines() if line and not line.startswith(":"))
        if fields and fields["event"] != "progress":
            out.append((fields["event"], json.loads(fields["data"])))
    return out


def _job(page: TestClient) -> str:
    return str(page.post("/api/jobs", json={"example": "bungalow"}).json()["job"])


def _ask(
    page: TestClient, job: str, *edits: tuple[str, Any], **more: Any
) -> list[tuple[str, dict[str, Any]]]:
    body = {
        "base": 1,
        "page": "p",
        "edits": [{"path": path, "value": value} for path, value in edits],
        **more,
    }
    response = page.post(f"/api/jobs/{job}/live", json=body)
    assert response.status_code == 200
    return _events(response.text)


def test_the_first_answer_is_whole_and_an_edit_is_answered_at_once_before_it(page: TestClient) -> None:
    job = _job(page)
    assert [name for name, _ in _ask(page, job)] == ["answers", "done"]
    moved = ("downspouts.D3.at", ["58 ft", "74.4 ft"])
    (first, once), (second, whole), (last, _) = _ask(page, job, moved)
    assert (first, second, last) == ("at_once", "answers", "done")
    assert once["held"] and not whole["held"]
    assert "mound-below-well" in once["of_before"] and whole["of_before"] == []
    assert once["views"] == [] and whole["views"]
    assert len(once["answers"]) == len(whole["answers"]) == 9
    assert once["fingerprint"] == whole["fingerprint"]
    asked = page.post(
        f"/api/jobs/{job}/answers",
        json={"base": 1, "page": "q", "edits": [{"path": moved[0], "value": moved[1]}]},
    ).json()
    assert asked == whole


def test_what_is_known_already_comes_whole_only(page: TestClient) -> None:
    job, longer = _job(page), ("gutters.G1.length", "45 ft")
    _ask(page, job)
    assert [name for name, _ in _ask(page, job, longer)] == ["at_once", "answers", "done"]
    assert [name for name, _ in _ask(page, job, longer)] == ["answers", "done"]


def test_while_something_is_dragged_answers_and_drawings_come_and_nothing_is_searched_for(
    page: TestClient,
) -> None:
    job = _job(page)
    _ask(page, job)
    moved = ("wells.W1.at", ["37 ft", "97 ft"])
    assert [name for name, _ in _ask(page, job, moved, moving=True)] == ["at_once", "done"]
    events = _ask(page, job, moved, moving=True, section="profile-D3")
    assert [name for name, _ in events] == ["at_once", "drawn", "done"]
    once, drawn = events[0][1], events[1][1]
    assert once["held"] and drawn["view"]["name"] == "profile-D3"
    well = next(part for part in once["parts"] if (part["table"], part["id"]) == ("wells", "W1"))
    assert [round(x / 0.3048, 3) for x in well["points"][0]] == [37.0, 97.0]


def test_nothing_is_answered_at_once_to_another_job_of_the_same_page(page: TestClient) -> None:
    """A page that went on to another house: what stood before was of other parts."""
    first, second = _job(page), str(page.post("/api/jobs", json={"example": "terrace"}).json()["job"])
    _ask(page, first)
    assert [name for name, _ in _ask(page, second)] == ["answers", "done"]


def test_nor_to_a_house_with_the_same_parts(page: TestClient) -> None:
    """The labels are those of the bungalow, the ground under it is another: nothing may be lent from house to house."""
    first, second = _job(page), _job(page)
    _ask(page, first)
    wet = ("soil.seasonal_high_water_depth", "9 ft")
    assert [name for name, _ in _ask(page, second, wet)] == ["answers", "done"]


def test_what_cannot_be_read_is_told_and_the_rest_is_answered(page: TestClient) -> None:
    job = _job(page)
    _ask(page, job)
    events = _ask(page, job, ("gutters.G1.length", "45 bananas"))
    assert [name for name, _ in events if name != "at_once"] == ["answers", "done"]
    for _, told in events[:-1]:
        assert [problem["path"] for problem in told["problems"]] == ["gutters.G1.length"]
        assert told["problems"][0]["line"] is not None  # as the text has it


def test_a_document_that_is_none_ends_without_answers(page: TestClient) -> None:
    job = str(page.post("/api/jobs", json={"document": "Dear neighbor,\n"}).json()["job"])
    ((name, told), (last, _)) = _ask(page, job)
    assert (name, last) == ("answers", "done") and not told["designed"]


@pytest.fixture
def answering(tmp_path: Path) -> Answering:
    return Answering(open_store(str(tmp_path / "jobs.sqlite")))


def test_a_newer_question_stops_the_search_of_the_older_within_a_scheme(answering: Answering) -> None:
    store: Store = answering.store
    text = (
        Path(__file__).parents[2].joinpath("src/roofwell/examples/side-yard.toml").read_text(encoding="utf-8")
    )
    saved = store.create(text, who="")
    older = answering.reading(saved.job, text)
    newer = answering.reading(saved.job, text.replace("[job]", '[job]\nrevision = "Z"', 1))
    begun, stopped = threading.Event(), threading.Event()

    def look(words: str) -> None:
        if words:
            begun.set()

    def ask() -> None:
        with pytest.raises(Outdated):
            list(answering.live(older, page="p", progress=look))
        stopped.set()

    thread = threading.Thread(target=ask)
    thread.start()
    assert begun.wait(20)
    (answer,) = answering.live(newer, page="p")
    assert isinstance(answer, Stood)
    assert stopped.wait(5)
    thread.join()


def test_of_two_questions_the_later_turn_is_the_newer_in_whatever_order_they_are_read(
    answering: Answering,
) -> None:
    """A page asks twice while it opens; where the first is read last it must not send the second away."""
    questions = answering.questions
    second = questions.asking("p", "as it is", None, turn=2)
    with pytest.raises(Outdated):
        questions.asking("p", "as it was", None, turn=1)
    second("")
    questions.asking("another page", "as it was", None, turn=1)("")
    third = questions.asking("p", "as it is now", None, turn=3)
    with pytest.raises(Outdated):
        second("")
    third("")


def test_the_late_one_is_told_so(page: TestClient) -> None:
    job = _job(page)
    assert [name for name, _ in _ask(page, job, turn=5)] == ["answers", "done"]
    assert [name for name, _ in _ask(page, job, turn=4)] == ["outdated"]
    assert page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p", "turn": 4}).status_code == 409
