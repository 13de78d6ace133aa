"""Two versions side by side: what was changed, which answers moved, the figures; with the files of their time."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient


def _job(page: TestClient, *edits: dict[str, object], example: str = "bungalow") -> str:
    job = str(page.post("/api/jobs", json={"example": example}).json()["job"])
    for base, edit in enumerate(edits, start=1):
        assert page.post(f"/api/jobs/{job}/save", json={"base": base, "edits": [edit]}).status_code == 200
    return job


def test_a_slower_soil_moves_the_answers_that_rest_on_it(page: TestClient) -> None:
    """A safety factor of 8 asks for more soil than the job has: storage grows or question 5 falls, question 1 stays."""
    job = _job(page, {"path": "soil.safety_factor", "value": 8})
    said = page.get(f"/api/jobs/{job}/moved", params={"older": 1, "newer": 2}).json()
    assert [change["path"] for change in said["changes"]] == ["soil.safety_factor"]
    answers = said["moved"]["answers"]
    assert [answer["question"] for answer in answers] == list(range(1, 10))
    assert answers[4]["moved"] and not answers[0]["moved"]
    figures = {figure["what"]: figure for figure in said["moved"]["figures"]}
    assert figures["storage of the wells"]["moved"]
    assert figures["storage of the wells"]["older"].startswith("W1 ")


def test_a_version_beside_itself_moves_nothing(page: TestClient) -> None:
    job = _job(page)
    said = page.get(f"/api/jobs/{job}/moved", params={"older": 1, "newer": 1}).json()
    assert said["changes"] == []
    assert not any(answer["moved"] for answer in said["moved"]["answers"])
    assert not any(figure["moved"] for figure in said["moved"]["figures"])


def test_a_broken_version_stands_beside_a_whole_one(page: TestClient) -> None:
    job = _job(page)
    page.post(f"/api/jobs/{job}/save", json={"base": 1, "document": "Dear neighbor,\n"})
    said = page.get(f"/api/jobs/{job}/moved", params={"older": 1, "newer": 2}).json()
    assert said["problems"] == [0, 1]
    assert said["moved"]["answers"][0]["newer_text"] == "nothing could be read"
    assert said["moved"]["answers"][0]["older"] == "good"


@pytest.mark.parametrize("number", [0, 7])
def test_a_version_that_is_not_there(page: TestClient, number: int) -> None:
    job = _job(page)
    answer = page.get(f"/api/jobs/{job}/moved", params={"older": number, "newer": 1})
    assert (answer.status_code, answer.json()["code"]) == (404, "version-unknown")


def test_each_version_is_designed_with_the_rain_of_its_time(page: TestClient) -> None:
    """The gauge file is replaced after the second version: the first one's own file is what it is designed with."""
    document = 'document = 1\n[rain]\nrecord = "gauge.csv"\n'
    job = page.post("/api/jobs", json={"document": document}).json()["job"]
    page.put(f"/api/jobs/{job}/files/gauge.csv", content=b"no rain record\n")
    page.post(f"/api/jobs/{job}/save", json={"base": 1, "document": document + "# 2\n"})
    page.delete(f"/api/jobs/{job}/files/gauge.csv")
    said = page.get(f"/api/jobs/{job}/moved", params={"older": 1, "newer": 2}).json()
    assert said["problems"] == [1, 1]  # one is no record, the other is not there
    problems = page.post(f"/api/jobs/{job}/answers", json={"base": 2, "page": "p"}).json()["problems"]
    assert [problem["code"] for problem in problems] == ["file-missing"]
