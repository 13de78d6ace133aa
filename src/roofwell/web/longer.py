"""Long work that is asked for by itself: the chance with all unknowns drawn together, and what would mend an answer."""

from __future__ import annotations

from collections.abc import Iterator

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from roofwell.design.mend_words import Tried
from roofwell.papers.results import plain
from roofwell.papers.set.beyond import chance
from roofwell.web.answering import Answering
from roofwell.web.answers import Ask, asked
from roofwell.web.further import Chances
from roofwell.web.jobs import Edit
from roofwell.web.questions import Look
from roofwell.web.stream import Event, EventStream, stream

router = APIRouter(prefix="/api", tags=["answers"])


class Drawn(BaseModel):
    """Event ``chance``; None where there is no record, no well or nothing that could be read."""

    chance: Chances | None


class AskMends(Ask):
    """What to mend: the answer to one question."""

    question: int = Field(ge=1, le=9)


class Mend(BaseModel):
    """Event ``mend``: one change that mends the answer (``whole``) or part of it, in finished strings, with its edits."""

    question: int
    whole: bool
    verdict: str | None
    what: str
    turns: str
    met: list[str]
    moves: list[str]
    takes: str
    edits: list[Edit]


class MendsTried(BaseModel):
    """Event ``tried``: how much was tried; ``measures``: what no change mends, because nobody has measured it."""

    question: int
    words: str
    measures: list[str]


@router.post("/jobs/{id}/chance", response_class=EventStream, responses={200: {"model": Drawn}})
def draw_chance(id: str, ask: Ask, request: Request) -> EventStream:
    """Draw all unknowns together, as events ``progress``, ``chance``, then ``done``, ``outdated`` or ``failed``.

    A newer question of the same page, or its leaving, stops it within a sample.
    """
    answering: Answering = request.app.state.answering
    reading = asked(id, ask, answering)

    def work(look: Look) -> Iterator[Event]:
        design = answering.chance(reading, page=ask.page, progress=look)
        found = chance(design) if design is not None else None
        yield "chance", Drawn.model_validate({"chance": found}).model_dump(mode="json")

    return stream(work)


@router.post("/jobs/{id}/mends", response_class=EventStream, responses={200: {"model": Mend | MendsTried}})
def look_for_mends(id: str, ask: AskMends, request: Request) -> EventStream:
    """Try single changes for one answer, as events ``progress``, ``mend`` for each that mends, ``tried``, then as above.

    A newer question of the same page, or its leaving, stops it within the change that is being tried.
    """
    answering: Answering = request.app.state.answering
    reading = asked(id, ask, answering)

    def work(look: Look) -> Iterator[Event]:
        for row in answering.mends(reading, ask.question, page=ask.page, progress=look):
            if isinstance(row, Tried):
                yield "tried", MendsTried.model_validate(plain(row)).model_dump(mode="json")
            else:
                edits = [{"path": path, "value": value} for path, value in row.edits]
                mend = Mend.model_validate({**plain(row), "edits": edits})
                yield "mend", mend.model_dump(mode="json")

    return stream(work)
