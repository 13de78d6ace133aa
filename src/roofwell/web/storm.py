"""The storm that asks most of a document's system, moment by moment, for the long sections and the chart of the page."""

from __future__ import annotations

from fastapi import APIRouter, Request
from pydantic import BaseModel

from roofwell.papers.screen_storm import StormOnScreen, screen_storm
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
