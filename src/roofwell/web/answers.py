"""The nine answers and the drawings of a document as it stands on the page, saved or not."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from roofwell.design import AtOnce, Design
from roofwell.design.adopt import designed_leaves
from roofwell.design.draft import Draft, draft
from roofwell.design.further import FOLLOWS
from roofwell.job import Reading
from roofwell.job.problems import Problem
from roofwell.papers.drawing.on_plan import OnPlan, parts_on_plan
from roofwell.papers.results import plain
from roofwell.papers.screen import View, screen_views, section_view
from roofwell.papers.set.what_if_table import what_if_table
from roofwell.web.answering import Answering, Stood
from roofwell.web.jobs import Edit, changed_document, edited
from roofwell.web.questions import Look
from roofwell.web.shown import Answer, AssumedValue, Said, WhatIf
from roofwell.web.stream import Event, EventStream, stream

router = APIRouter(prefix="/api", tags=["answers"])


class Ask(BaseModel):
    """What to answer for: version ``base`` with edits, or a whole text; ``page`` is the mark of the open page.

    ``whole``: long sections show the wall whole up to a gutter whose height was measured. ``turn``: the page's own count
    of its questions, for they may arrive the wrong way round.
    """

    base: int
    document: str | None = None
    edits: list[Edit] = Field(default_factory=list, max_length=2000)
    page: str = Field(max_length=64)
    width: float = Field(default=1000.0, ge=40, le=6000)
    plan_height: float = Field(default=360.0, ge=40, le=4000)
    section_height: float = Field(default=320.0, ge=40, le=4000)
    whole: bool = True
    turn: int = Field(default=0, ge=0)


class Answered(Said):
    """What came of it. ``designed`` False: nothing could be read. Problems are listed whatever else stands here.

    ``follows``: questions whose words grow by what ``/beyond`` tells; verdicts stay. ``what_if``: rows of what happens
    where one thing fails, by the letters of the sections; None where nothing can.
    ``designed_values``: what was designed and not given, by key path, as the document would hold it.
    ``held``: the answer to an edit at once, with the sizes and ways of before it, without designed values and
    drawings; ``of_before``: checks whose findings are those of before the edit.
    The whole answer follows.
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
    held: bool = False
    of_before: list[str] = Field(default_factory=list)


@router.post("/jobs/{id}/answers")
def answer(id: str, ask: Ask, request: Request) -> Answered:
    """Design and judge; 409 ``outdated`` where the same page asked for something newer meanwhile."""
    answering: Answering = request.app.state.answering
    reading = asked(id, ask, answering)
    return _whole(reading, ask, answering.stand(reading, page=ask.page, turn=ask.turn))


class AskLive(Ask):
    """As ``Ask``; ``moving``: something is still being dragged, the whole answer is not wanted yet, and of the drawings only
    the long section of that name ``section``."""

    moving: bool = False
    section: str = Field(default="", max_length=120)


class Drawn(BaseModel):
    """Event ``drawn``: a long section while something is being dragged."""

    view: View


@router.post("/jobs/{id}/live", response_class=EventStream, responses={200: {"model": Answered | Drawn}})
def live(id: str, ask: AskLive, request: Request) -> EventStream:
    """Stream the answers to an edit as events ``at_once`` (sizes of before), ``drawn`` (a long section as it is then, while
    moving) and ``answers`` (the whole), then ``done``, ``outdated`` or ``failed``.

    A newer question of the same page, or its leaving, stops it. ``at_once`` is left out where nothing stood before, where
    parts came or went, and where the whole answer is known already.
    """
    answering: Answering = request.app.state.answering
    reading = asked(id, ask, answering)

    def work(look: Look) -> Iterator[Event]:
        for found in answering.live(reading, page=ask.page, moving=ask.moving, progress=look, turn=ask.turn):
            if isinstance(found, Stood):
                yield "answers", _whole(reading, ask, found)
                continue
            told = _answered(reading, found.standing.design, list(reading.problems), [], at_once=found)
            yield "at_once", told
            view = _section(found.standing.design, ask) if ask.moving and ask.section else None
            if view is not None:
                yield "drawn", Drawn(view=view)

    return stream(work)


def _whole(reading: Reading, ask: Ask, stood: Stood) -> Answered:
    problems = [*reading.problems, *stood.problems]
    if stood.standing is None:
        return Answered(designed=False, problems=problems)
    designed = stood.standing.design
    return _answered(reading, designed, problems, _views(designed, ask))


def _section(designed: Design, ask: AskLive) -> View | None:
    return section_view(designed, ask.section, width=ask.width, height=ask.section_height, whole=ask.whole)


def _views(designed: Design, ask: Ask) -> list[View]:
    return list(
        screen_views(
            designed,
            width=ask.width,
            plan_height=ask.plan_height,
            section_height=ask.section_height,
            whole=ask.whole,
        )
    )


def asked(id: str, ask: Ask, answering: Answering) -> Reading:
    """Read the document that is asked about."""
    if ask.document is not None:
        return answering.reading(id, ask.document)
    base = answering.document(id, ask.base)
    changed = changed_document(base, ask.edits)
    if changed is not None:
        return answering.read(id, *changed)
    return answering.reading(id, edited(base, ask.edits))


def shown(designed: Design) -> list[Answer]:
    """Return the nine answers as JSON holds them."""
    return [Answer.model_validate(answer) for answer in plain(designed.answers)]


def _answered(
    reading: Reading,
    designed: Design,
    problems: list[Problem],
    views: list[View],
    *,
    at_once: AtOnce | None = None,
) -> Answered:
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
        designed_values=plain(designed_leaves(reading.document, designed)) if at_once is None else {},
        fingerprint=designed.fingerprint,
        held=at_once is not None,
        of_before=list(at_once.of_before) if at_once is not None else [],
    )
