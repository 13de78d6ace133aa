"""The nine answers and the drawings of a document as it stands on the page, saved or not."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from roofwell.design import Design
from roofwell.design.adopt import designed_leaves
from roofwell.design.draft import Draft, draft
from roofwell.design.further import FOLLOWS
from roofwell.job import Reading
from roofwell.job.problems import Problem
from roofwell.papers.drawing.on_plan import OnPlan, parts_on_plan
from roofwell.papers.results import plain
from roofwell.papers.screen import View, screen_views
from roofwell.papers.set.what_if_table import what_if_table
from roofwell.web.answering import Answering
from roofwell.web.jobs import Edit, edited
from roofwell.web.shown import Answer, AssumedValue, Said, WhatIf

router = APIRouter(prefix="/api", tags=["answers"])


class Ask(BaseModel):
    """What to answer for: version ``base`` with edits, or a whole text; ``page`` is the mark of the open page."""

    base: int
    document: str | None = None
    edits: list[Edit] = Field(default_factory=list, max_length=2000)
    page: str = Field(max_length=64)
    width: float = Field(default=1000.0, ge=40, le=6000)
    plan_height: float = Field(default=360.0, ge=40, le=4000)
    section_height: float = Field(default=320.0, ge=40, le=4000)


class Answered(Said):
    """What came of it. ``designed`` False: nothing could be read. Problems are listed whatever else stands here.

    ``follows``: questions whose words grow by what ``/beyond`` tells; verdicts stay. ``what_if``: rows of what happens
    where one thing fails, by the letters of the sections; None where nothing can.
    ``designed_values``: what was designed and not given, by key path, as the document would hold it.
    """

    designed: bool
    problems: list[Problem]
    answers: list[Answer] = Field(default_factory=list)
    views: list[View] = Field(default_factory=list)
    parts: list[OnPlan] = Field(default_factory=list)
    what_if: WhatIf | None = None
    follows: list[int] = Field(default_factory=list)
    waits: list[str] = Field(default_factory=list)
    open_sizes: str | None = None
    draft: Draft | None = None
    counts: dict[str, int] = Field(default_factory=dict)
    assumed: list[AssumedValue] = Field(default_factory=list)
    origin: dict[str, str] = Field(default_factory=dict)
    designed_values: dict[str, Any] = Field(default_factory=dict)
    fingerprint: str = ""


@router.post("/jobs/{id}/answers")
def answer(id: str, ask: Ask, request: Request) -> Answered:
    """Design and judge; 409 ``outdated`` where the same page asked for something newer meanwhile."""
    answering: Answering = request.app.state.answering
    reading = asked(id, ask, answering)
    stood = answering.stand(reading, page=ask.page)
    problems = [*reading.problems, *stood.problems]
    if stood.standing is None:
        return Answered(designed=False, problems=problems)
    designed = stood.standing.design
    views = screen_views(
        designed, width=ask.width, plan_height=ask.plan_height, section_height=ask.section_height
    )
    return _answered(reading, designed, problems, list(views))


def asked(id: str, ask: Ask, answering: Answering) -> Reading:
    """Read the document that is asked about."""
    text = ask.document
    if text is None:
        text = edited(answering.store.version(id, ask.base).document, ask.edits)
    return answering.reading(id, text)


def shown(designed: Design) -> list[Answer]:
    """Return the nine answers as JSON holds them."""
    return [Answer.model_validate(answer) for answer in plain(designed.answers)]


def _answered(reading: Reading, designed: Design, problems: list[Problem], views: list[View]) -> Answered:
    origin: dict[str, str] = dict(designed.scheme.origin.items())
    cases = what_if_table(designed)
    return Answered(
        designed=True,
        problems=problems,
        answers=shown(designed),
        views=views,
        parts=list(parts_on_plan(designed)),
        what_if=WhatIf.model_validate(cases) if cases is not None else None,
        follows=list(FOLLOWS) if designed.scheme.wells else [],
        waits=list(designed.waits),
        open_sizes=designed.open_sizes,
        draft=draft(designed),
        counts=designed.rests_on,
        assumed=list(designed.assumed),
        origin=origin,
        designed_values=plain(designed_leaves(reading.document, designed)),
        fingerprint=designed.fingerprint,
    )
