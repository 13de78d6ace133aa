"""What lies beyond the nine answers, part by part as it is done: the well in years, larger storms, chances, other rules."""

from __future__ import annotations

from collections.abc import Iterator

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from roofwell.checks.age_words import AgeRow
from roofwell.papers.set.age_table import age_table
from roofwell.papers.set.beyond import beyond
from roofwell.web.answering import Answering
from roofwell.web.answers import Ask, asked, shown
from roofwell.web.questions import Look
from roofwell.web.shown import Answer, Said
from roofwell.web.stream import Event, EventStream, stream

router = APIRouter(prefix="/api", tags=["answers"])


class YearsTable(BaseModel):
    """The wells new, after ten and after twenty years, in finished strings."""

    sentences: list[str]
    care: list[str]
    rows: list[AgeRow]
    sediment: bool
    basis: list[str]


class Stressed(BaseModel):
    """What one larger storm, or a worse soil, does."""

    what: str
    well: str
    level: str
    spills: str
    goes: str
    house: str


class Chances(BaseModel):
    """How often it spills, as a chance. ``together``: with all unknowns drawn together; ``tested``: whether they can be."""

    sentence: str
    lines: list[str]
    together: list[str]
    tested: bool


class Rule(BaseModel):
    """One published rule beside what the well has."""

    what: str
    well: str
    wanted: str
    had: str
    share: str
    governs: bool
    source: str


class RecordRow(BaseModel):
    """One depth of the gauge record beside the rain table's."""

    what: str
    record: str
    within: str
    table: str
    said: str


class RecordTable(BaseModel):
    """The gauge record beside the rain table."""

    sentence: str
    basis: str
    rows: list[RecordRow]


class Rates(BaseModel):
    """How often gutters and runs are overrun over the years."""

    basis: str
    lines: list[str]


class BeyondTable(BaseModel):
    """What lies beyond the design storm, in finished strings; none of it is judged."""

    basis: str
    warnings: list[str]
    stress: list[Stressed]
    notes: list[str]
    held: list[str]
    chance: Chances | None
    governing: str
    rules: list[Rule]
    record: RecordTable | None
    rates: Rates | None
    floods: list[str]


class Years(BaseModel):
    """Event ``years``; None where nothing can be said of them."""

    years: YearsTable | None


class Beyond(Said):
    """Event ``beyond``, with the nine answers in the words that they now have; verdicts are those of before.

    ``moved``: questions whose words changed.
    """

    beyond: BeyondTable | None
    answers: list[Answer]
    moved: list[int] = Field(default_factory=list)


@router.post("/jobs/{id}/beyond", response_class=EventStream, responses={200: {"model": Years | Beyond}})
def look_beyond(id: str, ask: Ask, request: Request) -> EventStream:
    """Stream what lies beyond, as events ``progress``, ``years``, ``beyond``, then ``done``, ``outdated`` or ``failed``.

    A newer question of the same page, or its leaving, stops it.
    """
    answering: Answering = request.app.state.answering
    reading = asked(id, ask, answering)

    def work(look: Look) -> Iterator[Event]:
        before: list[Answer] = []
        for part, design in answering.further(reading, page=ask.page, progress=look):
            if part == "years":
                before = shown(design)
                yield part, Years.model_validate({"years": age_table(design)}).model_dump(mode="json")
            else:
                answers = shown(design)
                moved = [a.question for a, b in zip(answers, before, strict=True) if a != b]
                found = {"beyond": beyond(design), "answers": answers, "moved": moved}
                yield part, Beyond.model_validate(found).model_dump(mode="json")

    return stream(work)
