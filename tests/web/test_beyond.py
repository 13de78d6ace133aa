"""What lies beyond the nine answers comes by a stream, part by part; a newer edit or a page that left stops it."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from roofwell.store import Store, open_store
from roofwell.web.answering import Answering
from roofwell.web.questions import Outdated


def _events(text: str) -> list[tuple[str, dict[str, Any]]]:
    """Read events as the HTML standard has them: ``event:`` and ``data:`` lines, a blank line ends each."""
    out = []
    for block in text.split("\n\n"):
        fields = dict(line.split(": ", 1) for line in block.splitlines() if line and not line.startswith(":"))
        if fields:
            out.append((fields["event"], json.loads(fields["data"])))
    return out


def _job(page: TestClient, name: str = "bungalow") -> str:
    return str(page.post("/api/jobs", json={"example": name}).json()["job"])


def test_the_parts_come_one_after_the_other(page: TestClient) -> None:
    """Progress in words, the years, the rest; verdicts are those of the answers, which the page had before."""
    job = _job(page)
    ask = {"base": 1, "page": "p"}
    said = page.post(f"/api/jobs/{job}/answers", json=ask).json()
    streamed = page.post(f"/api/jobs/{job}/beyond", json=ask)
    assert streamed.headers["content-type"].startswith("text/event-stream")
    events = _events(streamed.text)
    assert [name for name, _ in events if name != "progress"] == ["years", "beyond", "done"]
    assert events[0] == ("progress", {"words": "the well in years"})
    parts = {name: data for name, data in events if name != "progress"}
    assert parts["years"]["years"]["rows"]
    assert parts["beyond"]["beyond"]["chance"]["sentence"].startswith("Nine chances in ten")
    assert [a["verdict"] for a in parts["beyond"]["answers"]] == [a["verdict"] for a in said["answers"]]
    assert parts["beyond"]["moved"] == [5]
    assert parts["beyond"]["answers"][4]["sentence"] != said["answers"][4]["sentence"]


def test_a_document_that_cannot_be_read_ends_the_stream(page: TestClient) -> None:
    job = page.post("/api/jobs", json={"document": "Dear neighbor,\n"}).json()["job"]
    assert _events(page.post(f"/api/jobs/{job}/beyond", json={"base": 1, "page": "p"}).text) == [("done", {})]


def test_a_paper_tells_how_far_it_is_and_is_fetched(page: TestClient) -> None:
    job = _job(page)
    events = _events(page.post(f"/api/jobs/{job}/papers/crew/make").text)
    words = [data["words"] for name, data in events if name == "progress"]
    assert words[-1] == "setting crew-sheets.pdf" and len(words) > 2
    assert [name for name, _ in events[-2:]] == ["made", "done"]
    assert page.get("/" + events[-2][1]["url"]).content.startswith(b"%PDF")


def test_a_paper_of_a_document_with_problems_is_refused_in_the_stream(page: TestClient) -> None:
    job = page.post("/api/jobs", json={"document": "document = 1\n[frame]\nnorth = 'up'\n"}).json()["job"]
    (name, data), *_ = _events(page.post(f"/api/jobs/{job}/papers/set/make").text)
    assert (name, data["code"]) == ("failed", "document-has-problems")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    one = open_store(str(tmp_path / "jobs.sqlite"))
    yield one
    one.close()


def test_a_newer_edit_stops_it(store: Store) -> None:
    """The page asks for answers again while the first part is under way: the stream ends before the next part."""
    from roofwell.web.jobs import example

    text, files = example("bungalow")
    job = store.create(text, who="", files=files).job
    answering = Answering(store)
    reading = answering.reading(job, text)
    answering.stand(reading, page="p")
    parts = answering.further(reading, page="p")
    assert next(parts)[0] == "years"
    answering.stand(reading, page="p")
    with pytest.raises(Outdated):
        next(parts)
    answering.close()


def test_the_same_document_is_designed_once(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    from roofwell.web import answering as module
    from roofwell.web.jobs import example

    text, files = example("bungalow")
    job = store.create(text, who="", files=files).job
    designed: list[float] = []
    real = module.stand
    monkeypatch.setattr(
        module, "stand", lambda *a, **k: (designed.append(time.monotonic()), real(*a, **k))[1]
    )
    answering = Answering(store)
    for _ in range(2):
        answering.stand(answering.reading(job, text), page="p")
    answering.design(answering.reading(job, text + "# a remark\n"), page="q")
    assert len(designed) == 1
    answering.stand(answering.reading(job, text.replace("Alder", "Birch") + "[frame]\n"), page="p")
    answering.close()


def test_who_leaves_stops_the_work(
    page: TestClient, serve: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page that is closed in mid-stream: the work raises at its next word of progress (real server, real socket)."""
    import http.client

    from roofwell.web import further

    seen: list[str] = []
    ended = threading.Event()

    def slow(self: Answering, reading: object, *, page: str, progress: Any) -> Iterator[Any]:
        try:
            for i in range(200):
                progress(f"step {i}")
                seen.append(f"step {i}")
                time.sleep(0.02)
            yield from ()
        finally:
            ended.set()

    monkeypatch.setattr(further.Answering, "further", slow)
    job = _job(page)
    with serve(page.app) as port:  # type: ignore[arg-type]
        talk = http.client.HTTPConnection("127.0.0.1", port)
        headers = {"X-Roofwell": "page", "Content-Type": "application/json"}
        talk.request("POST", f"/api/jobs/{job}/beyond", json.dumps({"base": 1, "page": "p"}), headers)
        assert b"event: progress" in talk.getresponse().read(60)
        talk.close()
        assert ended.wait(3.0)
        assert len(seen) < 150
