"""The storm that asks most of a system, moment by moment, and the pictures of storm, years, drawdown and mound."""

from __future__ import annotations

from fastapi import APIRouter, Request
from pydantic import BaseModel

from roofwell.papers.screen import View, view_of
from roofwell.papers.screen_storm import StormOnScreen, screen_storm
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
    designed = answering.design(asked(id, ask, answering), page=f"{ask.page} storm", beyond=False)
    return StormShown(storm=screen_storm(designed) if designed is not None else None)


class Pictured(BaseModel):
    """A picture with its words; ``view`` None where a measurement is missing, and the words say which."""

    title: str
    notes: list[str]
    view: View | None


@router.post("/jobs/{id}/pictures")
def picture(id: str, ask: Ask, request: Request) -> list[Pictured]:
    """Draw what rain does to every well; 409 ``outdated`` where the same page asked for them again meanwhile."""
    answering: Answering = request.app.state.answering
    designed = answering.design(asked(id, ask, answering), page=f"{ask.page} pictures", beyond=False)
    if designed is None:
        return []
    return [
        Pictured(
            title=one.drawing.title,
            notes=list(one.drawing.notes),
            view=view_of(one.placed) if one.placed is not None else None,
        )
        for one in pictures(designed)
    ]
