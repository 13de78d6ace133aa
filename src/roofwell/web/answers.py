"""The nine answers and the drawings of a document as it stands on the page, saved or not."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from roofwell.design import Design
from roofwell.job.problems import Problem
from roofwell.papers.results import plain
from roofwell.papers.screen import View, screen_views
from roofwell.papers.set.what_if_table import what_if_table
from roofwell.web.answering import Answering
from roofwell.web.jobs import Edit, edited

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


class Answered(BaseModel):
    """What came of it. ``designed`` False: nothing could be read. Problems are listed whatever else stands here.

    ``what_if``: rows of what happens where one thing fails, by the letters of the sections; None where nothing can.
    """

    designed: bool
    problems: list[Problem]
    answers: list[dict[str, Any]] = Field(default_factory=list)
    views: list[View] = Field(default_factory=list)
    what_if: dict[str, Any] | None = None
    waits: list[str] = Field(default_factory=list)
    open_sizes: str | None = None
    counts: dict[str, int] = Field(default_factory=dict)
    assumed: list[dict[str, Any]] = Field(default_factory=list)
    origin: dict[str, str] = Field(default_factory=dict)
    fingerprint: str = ""


@router.post("/jobs/{id}/answers")
def answer(id: str, ask: Ask, request: Request) -> Answered:
    """Design and judge; 409 ``outdated`` where the same page asked for something newer meanwhile."""
    answering: Answering = request.app.state.answering
    text = ask.document
    if text is None:
        text = edited(answering.store.version(id, ask.base).document, ask.edits)
    reading = answering.reading(id, text)
    designed = answering.design(reading, page=ask.page, beyond=False)
    problems = list(reading.problems)
    if designed is None:
        return Answered(designed=False, problems=problems)
    views = screen_views(
        designed, width=ask.width, plan_height=ask.plan_height, section_height=ask.section_height
    )
    return _answered(designed, problems, list(views))


def _answered(designed: Design, problems: list[Problem], views: list[View]) -> Answered:
    origin: dict[str, str] = dict(designed.scheme.origin.items())
    counts = {kind: sum(1 for value in origin.values() if value == kind) for kind in ("given", "designed")}
    counts["assumed"], counts["missing"] = len(designed.assumed), len(designed.survey.missing)
    return Answered(
        designed=True,
        problems=problems,
        answers=plain(designed.answers),
        views=views,
        what_if=what_if_table(designed),
        waits=list(designed.waits),
        open_sizes=designed.open_sizes,
        counts=counts,
        assumed=plain(designed.assumed),
        origin=origin,
        fingerprint=designed.fingerprint,
    )
