"""The service: jobs, versions, answers, papers; what a foreign page or an unknown host gets."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from roofwell.store import open_store
from roofwell.web import Gate, make_app

HOST = "127.0.0.1:8437"


def _bungalow(page: TestClient) -> str:
    return str(page.post("/api/jobs", json={"example": "bungalow", "who": "Ada"}).json()["job"])


def test_from_an_example_to_nine_answers_and_papers(page: TestClient) -> None:
    job = _bungalow(page)
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p"}).json()
    assert said["answers"][0]["title"] == "How much comes?"
    assert len(said["answers"]) == 9
    assert said["problems"] == []
    assert said["views"][0]["svg"].startswith("<svg")
    assert 'data-part="W1"' in said["views"][0]["svg"]
    paper = page.get(f"/api/jobs/{job}/papers/set")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")
    assert page.get(f"/api/jobs/{job}/papers/nothing").status_code == 404


def test_an_edit_moves_the_answer_and_is_not_kept_by_it(page: TestClient) -> None:
    job = _bungalow(page)
    ask = {"base": 1, "page": "p", "edits": [{"path": "roofs.R1.pitch", "value": "steep"}]}
    said = page.post(f"/api/jobs/{job}/answers", json=ask).json()
    assert [problem["path"] for problem in said["problems"]] == ["roofs.R1.pitch"]
    assert said["designed"] is True  # a bad leaf counts as missing, the rest goes on
    assert 'pitch = "5 in 12"' in page.get(f"/api/jobs/{job}").json()["version"]["document"]


def test_edits_are_saved_and_comments_stay(page: TestClient) -> None:
    job = _bungalow(page)
    before = page.get(f"/api/jobs/{job}").json()["version"]["document"]
    save = {"base": 1, "who": "Ben", "edits": [{"path": "wells.W1.bodies", "value": 2}], "operation": "o1"}
    assert page.post(f"/api/jobs/{job}/save", json=save).json() == {"job": job, "number": 2, "fresh": True}
    assert page.post(f"/api/jobs/{job}/save", json=save).json() == {"job": job, "number": 2, "fresh": False}
    after = page.get(f"/api/jobs/{job}").json()["version"]["document"]
    remarks = [line for line in before.splitlines() if line.lstrip().startswith("#")]
    assert remarks and [line for line in after.splitlines() if line.lstrip().startswith("#")] == remarks
    compared = page.get(f"/api/jobs/{job}/compare", params={"older": 1, "newer": 2}).json()
    assert compared == [{"path": "wells.W1.bodies", "older": None, "newer": "2"}]


def test_the_second_saver_gets_a_conflict(page: TestClient) -> None:
    job = _bungalow(page)
    page.post(f"/api/jobs/{job}/save", json={"base": 1, "who": "Ben", "document": "document = 1\n"})
    late = page.post(
        f"/api/jobs/{job}/save", json={"base": 1, "who": "Ada", "document": "document = 1\n# mine\n"}
    )
    assert late.status_code == 409
    assert late.json()["code"] == "saved-meanwhile"
    assert page.get(f"/api/jobs/{job}").json()["version"]["document"] == "document = 1\n"


def test_a_text_that_is_no_toml_opens_as_far_as_it_can_be_read(page: TestClient) -> None:
    """Two mistakes are both told with their lines, the rest is answered; the text stays as it came until it is edited."""
    text = page.get(f"/api/jobs/{_bungalow(page)}").json()["version"]["document"]
    broken = text.replace("[soil]\n", "[soil]\nfrost_depth = 18 in\n", 1) + "\n[job\nname = 3\n"
    job = page.post("/api/jobs", json={"document": broken}).json()["job"]
    opened = page.get(f"/api/jobs/{job}").json()
    assert opened["version"]["document"] == broken
    assert opened["values"]["roofs"]["R1"]["pitch"] == "5 in 12"
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p"}).json()
    assert said["designed"] and len(said["answers"]) == 9
    lines = broken.split("\n")
    told = [problem for problem in said["problems"] if problem["code"] == "not-toml"]
    assert [lines[problem["line"] - 1] for problem in told] == ["frost_depth = 18 in", "[job"]
    assert page.get(f"/api/jobs/{job}/papers/set").status_code == 422
    edit = {"base": 1, "edits": [{"path": "soil.frost_depth", "value": "18 in"}]}
    assert page.post(f"/api/jobs/{job}/save", json=edit).status_code == 200
    after = page.get(f"/api/jobs/{job}").json()["version"]["document"]
    assert "# not read: [job\n# not read: name = 3\n" in after and 'frost_depth = "18 in"' in after
    assert page.get(f"/api/jobs/{job}", params={"number": 1}).json()["version"]["document"] == broken


def test_a_text_that_is_no_document_is_kept_and_told(page: TestClient) -> None:
    letter = "Dear neighbor,\nthe water stands in my yard.\n"
    job = page.post("/api/jobs", json={"document": letter}).json()["job"]
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "page": "p"}).json()
    assert (said["designed"], said["problems"][0]["line"]) == (False, 1)
    assert page.get(f"/api/jobs/{job}/papers/set").status_code == 422
    assert page.get(f"/api/jobs/{job}").json()["version"]["document"] == letter


def test_export_gives_back_the_very_text(page: TestClient) -> None:
    text = 'document = 1\n# ü – remark\n[job]\nname = "A/B\\"C"\n'
    job = page.post("/api/jobs", json={"document": text}).json()["job"]
    file = page.get(f"/api/jobs/{job}/document.toml")
    assert file.content.decode() == text
    assert file.headers["content-disposition"] == 'attachment; filename="a-b-c.toml"'


@pytest.mark.parametrize(
    ("method", "url", "body", "status", "code"),
    [
        ("get", "/api/jobs/none", None, 404, "job-unknown"),
        ("post", "/api/jobs", {}, 422, "new-from-what"),
        ("post", "/api/jobs", {"example": "../x"}, 404, "example-unknown"),
        ("post", "/api/jobs", {"document": 7}, 422, "request-not-understood"),
    ],
)
def test_what_cannot_be_done_is_said(
    page: TestClient, method: str, url: str, body: object, status: int, code: str
) -> None:
    answer = page.request(method, url, json=body)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_only_our_own_page_changes_anything(page: TestClient) -> None:
    new = {"starter": "us"}
    assert page.post("/api/jobs", json=new, headers={"Origin": "http://evil.example"}).status_code == 403
    assert page.post("/api/jobs", json=new, headers={"X-Roofwell": ""}).status_code == 403
    assert page.post("/api/jobs", json=new, headers={"Origin": f"http://{HOST}"}).status_code == 201
    assert page.get("/api/jobs", headers={"Host": "rebound.example:8437"}).status_code == 400


def test_every_answer_carries_the_policy(page: TestClient) -> None:
    for url in ("/api/health", "/api/jobs/none", "/"):
        headers = page.get(url).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"


def test_the_network_needs_the_key(tmp_path: Path) -> None:
    app = make_app(open_store(str(tmp_path / "jobs.sqlite")), Gate(frozenset({HOST}), key="right"))
    with TestClient(app, base_url=f"http://{HOST}", headers={"X-Roofwell": "page"}) as client:
        assert client.get("/api/jobs").status_code == 401
        assert client.get("/api/health").json()["key_needed"] is True
        assert client.post("/api/key", json={"key": "wrong"}).status_code == 403
        client.cookies.set("roofwell", "forged")
        assert client.get("/api/jobs").status_code == 401
        client.cookies.clear()
        assert client.post("/api/key", json={"key": "right"}).status_code == 200
        assert client.get("/api/jobs").json() == []
        for _ in range(3):
            client.post("/api/key", json={"key": "wrong"})
        assert client.post("/api/key", json={"key": "right"}).status_code == 429


def test_names_are_text(page: TestClient) -> None:
    """A name that looks like markup comes back as it was typed, as JSON, never as a page."""
    text = "document = 1\n[job]\nname = '<img src=x onerror=alert(1)>'\n"
    page.post("/api/jobs", json={"document": text})
    answer = page.get("/api/jobs")
    assert answer.headers["content-type"] == "application/json"
    assert answer.json()[0]["name"] == "<img src=x onerror=alert(1)>"
