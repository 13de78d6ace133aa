"""The storm that asks most of a system, moment by moment; the years' spills; the full-well section; the pictures."""

from __future__ import annotations

from fastapi import APIRouter, Request
from pydantic import BaseModel

from roofwell.papers.screen import View, full_well_view, view_of
from roofwell.papers.screen_storm import StormOnScreen, screen_storm
from roofwell.papers.screen_years import YearsOnScreen, screen_years
from roofwell.papers.set.pictures import pictures
from roofwell.web.answering import Answering
from roofwell.web.answers import Ask, asked

router = APIRouter(prefix="/api", tags=["answers"])


class StormShown(BaseModel):
    """The storm; None where nothing leads anywhere yet, or sizes are missing."""

    storm: StormOnScreen | None


@router.post("/jobs/{id}/storm")
def storm(id: str, ask: Ask, request: Request) -> StormShown:
    """Follow the storm; 409 ``outdated`` where the same page asked for something newer meanwhile."""
    answering: Answering = request.app.state.answering
    designed = answering.design(
        asked(id, ask, answering), page=f"{ask.page} storm", beyond=False, turn=ask.turn
    )
    return StormShown(storm=screen_storm(designed, whole=ask.whole) if designed is not None else None)


class FullWellShown(BaseModel):
    """The full-well section; None where no part of the system has a level at the house."""

    view: View | None


@router.post("/jobs/{id}/full-well")
def full_well(id: str, ask: Ask, request: Request) -> FullWellShown:
    """Draw the full-well section; 409 ``outdated`` where the same page asked for it again meanwhile."""
    answering: Answering = request.app.state.answering
    designed = answering.design(
        asked(id, ask, answering), page=f"{ask.page} full well", beyond=False, turn=ask.turn
    )
    if designed is None:
        return FullWellShown(view=None)
    return FullWellShown(view=full_well_view(designed, width=ask.width, height=ask.section_height))


class YearsShown(BaseModel):
    """Every spill of the rain record; None where there is no well."""

    years: YearsOnScreen | None


@router.post("/jobs/{id}/years")
def years(id: str, ask: Ask, request: Request) -> YearsShown:
    """Follow the rain record for its spills; 409 ``outdated`` where the same page asked for them again meanwhile."""
    answering: Answering = request.app.state.answering
    designed = answering.design(
        asked(id, ask, answering), page=f"{ask.page} years", beyond=False, turn=ask.turn
    )
    return YearsShown(years=screen_years(designed) if designed is not None else None)


class Pictured(BaseModel):
    """A picture with its words; ``view`` None where a measurement is missing, and the words say which."""

    title: str
    notes: list[str]
    view: View | None


@router.post("/jobs/{id}/pictures")
def picture(id: str, ask: Ask, request: Request) -> list[Pictured]:
    """Draw what rain does to every well; 409 ``outdated`` where the same page asked for them again meanwhile.

    The spills through the years are not among them: the page has a chart of its own for these.
    """
    answering: Answering = request.app.state.answering
    designed = answering.design(
        asked(id, ask, answering), page=f"{ask.page} pictures", beyond=False, turn=ask.turn
    )
    if designed is None:
        return []
    return [
        Pictured(
            title=one.drawing.title,
            notes=list(one.drawing.notes),
            view=view_of(one.placed) if one.placed is not None else None,
        )
        for one in pictures(designed)
        if one.drawing.name != "spills"
    ]
