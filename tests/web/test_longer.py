"""Long work by stream: the chance with all unknowns, what would mend an answer; stopped, outdated, nothing left running."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from roofwell.job import Reading
from roofwell.store import Store, open_store
from roofwell.system import joint_chance
from roofwell.web.answering import Answering, key_of
from roofwell.web.jobs import example
from roofwell.web.questions import Outdated

Events = list[tuple[str, dict[str, Any]]]
ASK = {"base": 1, "page": "p"}


def _asks(answering: Answering, reading: Reading) -> None:
    """The page asks for answers."""
    answering.questions.asking("p", key_of(reading), None)


def _events(text: str) -> Events:
    """Read events as the HTML standard has them: ``event:`` and ``data:`` lines, a blank line ends each."""
    out = []
    for block in text.split("\n\n"):
        fields = dict(line.split(": ", 1) for line in block.splitlines() if line and not line.startswith(":"))
        if fields:
            out.append((fields["event"], json.loads(fields["data"])))
    return out


def _job(page: TestClient, name: str = "bungalow") -> str:
    return str(page.post("/api/jobs", json={"example": name}).json()["job"])


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    one = open_store(str(tmp_path / "store.sqlite"))
    yield one
    one.close()


def test_the_chance_is_told_as_the_papers_have_it(page: TestClient) -> None:
    """Progress by samples; then what matters most and what a test would be worth, in the words of ``--chance``; what lies
    beyond stays as it was, and so do papers."""
    job = _job(page)
    events = _events(page.post(f"/api/jobs/{job}/chance", json=ASK).text)
    said = [data["words"] for name, data in events if name == "progress"]
    assert any(words.startswith("All unknowns at once: the record made ready") for words in said)
    assert said[-1].startswith("All unknowns at once: 500 of 500 samples")
    assert [name for name, _ in events[-2:]] == ["chance", "done"]
    chance = events[-2][1]["chance"]
    assert chance["together"][0].startswith("All unknowns at once (500 samples, seed 1967)")
    assert chance["together"][1].startswith("What decides which sample spills more")
    assert not any("All unknowns at once" in line for line in chance["lines"])
    assert any(line.startswith("What one more soil test would be worth") for line in chance["lines"])
    beyond = dict(_events(page.post(f"/api/jobs/{job}/beyond", json=ASK).text))["beyond"]["beyond"]
    assert beyond["chance"] == chance | {"together": []}
    again = _events(page.post(f"/api/jobs/{job}/chance", json=ASK).text)
    assert again == [events[-2], ("done", {})]  # kept


def test_an_untested_soil_has_no_chance_to_draw(page: TestClient) -> None:
    job = _job(page, "nothing-below-ground")
    events = _events(page.post(f"/api/jobs/{job}/chance", json=ASK).text)
    chance = dict(events)["chance"]["chance"]
    assert chance is None or (not chance["tested"] and chance["together"] == [])


def test_mends_come_one_by_one_with_edits_that_do_it(page: TestClient) -> None:
    job = _job(page, "old-system")
    before = page.post(f"/api/jobs/{job}/answers", json=ASK).json()["answers"][5]
    assert before["verdict"] == "fails"
    events = _events(page.post(f"/api/jobs/{job}/mends", json=ASK | {"question": 6}).text)
    assert events[0] == ("progress", {"words": "change 1 of 2: a new O1 6 in wide instead of 4 in"})
    assert [name for name, _ in events if name != "progress"] == ["mend", "tried", "done"]
    mend = dict(events)["mend"]
    assert mend["whole"] and mend["verdict"] == "good"
    assert {"path": "overflows.O1.state", "value": "proposed"} in mend["edits"]
    after = page.post(f"/api/jobs/{job}/answers", json=ASK | {"edits": mend["edits"]}).json()
    assert after["problems"] == []
    assert after["answers"][5]["verdict"] == mend["verdict"]


def test_only_the_nine_questions_can_be_asked_for(page: TestClient) -> None:
    job = _job(page)
    for question in (0, 10, "five"):
        answer = page.post(f"/api/jobs/{job}/mends", json=ASK | {"question": question})
        assert answer.status_code == 422


def test_a_document_that_cannot_be_read_has_nothing_to_mend(page: TestClient) -> None:
    job = page.post("/api/jobs", json={"document": "Dear neighbor,\n"}).json()["job"]
    assert _events(page.post(f"/api/jobs/{job}/mends", json=ASK | {"question": 5}).text) == [("done", {})]
    assert _events(page.post(f"/api/jobs/{job}/chance", json=ASK).text) == [
        ("chance", {"chance": None}),
        ("done", {}),
    ]


class _Slow:
    """The long record made slow: each sample takes a fifth of a second. Counts what runs."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.ran: list[float] = []
        self.running = 0
        real = joint_chance.sampled_years

        def slowed(*given: Any, **how: Any) -> Any:
            ready = real(*given, **how)
            assert ready is not None

            def run(sample: Any) -> Any:
                self.running += 1
                time.sleep(0.2)
                self.ran.append(time.monotonic())
                self.running -= 1
                return ready.run(sample)

            return replace(ready, run=run)

        monkeypatch.setattr(joint_chance, "sampled_years", slowed)


@pytest.mark.parametrize("what", ["another document", "the same document"])
def test_a_newer_edit_stops_the_draw_within_a_second(
    what: str, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page asks for the answers to an edit while samples run: the draw ends at once, inside a piece of twenty samples.
    The same document asked for again (a window made wider) leaves it alone."""
    slow = _Slow(monkeypatch)
    text, files = example("bungalow")
    job = store.create(text, who="", files=files).job
    answering = Answering(store)
    reading = answering.reading(job, text)
    *_, (_, _) = answering.further(reading, page="p")  # what comes before the draw is there already
    ended: list[float] = []

    def draw() -> None:
        with suppress(Outdated):
            answering.chance(reading, page="p")
        ended.append(time.monotonic())

    drawing = threading.Thread(target=draw)
    drawing.start()
    while not slow.ran:
        time.sleep(0.02)
    newer = text if what == "the same document" else text + "\n[prices]\n"
    asked = time.monotonic()
    _asks(answering, answering.reading(job, newer))
    if what == "the same document":
        time.sleep(1.0)
        assert not ended
        _asks(answering, answering.reading(job, text + "\n[prices]\n"))
        asked = time.monotonic()
    drawing.join(5.0)
    assert ended and ended[0] - asked < 1.0
    count = len(slow.ran)
    time.sleep(0.5)
    assert len(slow.ran) == count < 60
    assert slow.running == 0
    answering.close()


def test_who_presses_stop_leaves_nothing_running(
    page: TestClient, serve: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A real socket closed in mid-draw, as the page's Stop does: the samples end within a second."""
    slow = _Slow(monkeypatch)
    job = _job(page)
    page.post(f"/api/jobs/{job}/beyond", json=ASK)
    with serve(page.app) as port:  # type: ignore[arg-type]
        talk = http.client.HTTPConnection("127.0.0.1", port)
        headers = {"X-Roofwell": "page", "Content-Type": "application/json"}
        talk.request("POST", f"/api/jobs/{job}/chance", json.dumps(ASK), headers)
        assert b"event: progress" in talk.getresponse().read(60)
        while not slow.ran:
            time.sleep(0.02)
        left = time.monotonic()
        talk.close()
        time.sleep(1.0)
        count = len(slow.ran)
        time.sleep(0.6)
        assert len(slow.ran) == count
        assert slow.ran[-1] - left < 1.0


def test_a_change_that_is_being_tried_is_given_up_for_a_newer_edit(store: Store) -> None:
    text, files = example("old-system")
    job = store.create(text, who="", files=files).job
    answering = Answering(store)
    reading = answering.reading(job, text)
    said: list[str] = []

    def look(words: str) -> None:
        if words:
            said.append(words)
        if words.startswith("change 2 of"):
            _asks(answering, answering.reading(job, text + "\n[prices]\n"))

    with pytest.raises(Outdated):
        list(answering.mends(reading, 3, page="p", progress=look))
    assert said[-1].startswith("change 2 of")
    answering.close()


def test_what_lies_beyond_stops_within_its_parts(store: Store) -> None:
    """The years and what lies beyond are looked at between their runs of the record, not at their ends only."""
    text, files = example("bungalow")
    job = store.create(text, who="", files=files).job
    answering = Answering(store)
    reading = answering.reading(job, text)
    answering.stand(reading, page="p")
    looks: list[tuple[str, float]] = []
    parts = answering.further(reading, page="p", progress=lambda w: looks.append((w, time.thread_time())))
    list(parts)
    names = [words for words, _ in looks if words]
    assert names == ["the well in years", "larger storms, chances and other rules"]
    apart = [b - a for (_, a), (_, b) in pairwise(looks)]
    assert len(looks) > 30
    assert max(apart) < 0.5
    answering.close()
