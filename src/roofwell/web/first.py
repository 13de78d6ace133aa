"""The first look at a house: figures and places that follow from a few answers, before anything is designed."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from roofwell.design.first import Answers, FirstLook, first_document, first_look
from roofwell.job.problems import Problem
from roofwell.store import Saved, Store
from roofwell.web.answering import Answering
from roofwell.web.jobs import Edit, edited

router = APIRouter(prefix="/api", tags=["first"])


class FirstHouse(BaseModel):
    """A house of which nothing is known yet but what it shall be called."""

    name: str = Field(max_length=200)
    units: Literal["us", "metric"] = "us"
    who: str = Field(default="", max_length=80)
    operation: str | None = Field(default=None, max_length=64)


class FirstAsk(BaseModel):
    """Version ``base`` with edits, and the answers that are no leaf by themselves."""

    base: int
    edits: list[Edit] = Field(default_factory=list, max_length=2000)
    distances: dict[str, str] = Field(default_factory=dict)
    corners: dict[str, str] = Field(default_factory=dict)
    well_side: str = Field(default="", max_length=20)


class Looked(BaseModel):
    """What was told, and what is wrong with the document."""

    look: FirstLook
    problems: list[Problem]


@router.post("/first", status_code=201)
def begin(house: FirstHouse, request: Request) -> Saved:
    """Make an empty job, to be filled by a first visit."""
    store: Store = request.app.state.store
    name = house.name.strip() or "New house"
    return store.create(
        first_document(name=name, style=house.units), who=house.who, operation=house.operation
    )


@router.post("/jobs/{id}/first")
def look(id: str, ask: FirstAsk, request: Request) -> Looked:
    """Tell what the answers so far tell at once; nothing is designed and nothing is kept."""
    answering: Answering = request.app.state.answering
    text = edited(answering.store.version(id, ask.base).document, ask.edits)
    reading = answering.reading(id, text)
    found = first_look(reading, Answers(ask.distances, ask.corners, ask.well_side))
    return Looked(look=found, problems=list(reading.problems))
