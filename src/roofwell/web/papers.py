"""The papers of a version, made when they are asked for."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel

from roofwell.errors import InputError
from roofwell.papers import PAPERS, Paper
from roofwell.papers.field_sheet import make_field_sheet
from roofwell.units import Style
from roofwell.web.answering import Answering
from roofwell.web.questions import Look
from roofwell.web.stream import Event, EventStream, stream

router = APIRouter(prefix="/api", tags=["papers"])

MEDIA = {".pdf": "application/pdf", ".csv": "text/csv; charset=utf-8", ".json": "application/json"}


@dataclass(frozen=True, slots=True)
class PaperSummary:
    """A paper that can be made: its name, file, and what it is for."""

    name: str
    file: str
    what: str


class Made(BaseModel):
    """Event ``made``: where the paper is fetched, as seen from the page."""

    url: str


@router.get("/papers")
def list_papers() -> list[PaperSummary]:
    """Return every paper that there is."""
    return [PaperSummary(paper.name, paper.file, paper.what) for paper in PAPERS.values()]


@router.get("/field-sheet.pdf", response_class=Response, responses={200: {"content": {MEDIA[".pdf"]: {}}}})
def field_sheet(units: Style = "us") -> Response:
    """Make the blank field sheet, for who has no signal and no phone."""
    return Response(
        make_field_sheet(units),
        media_type=MEDIA[".pdf"],
        headers={"Content-Disposition": 'inline; filename="field-sheet.pdf"'},
    )


@router.get(
    "/jobs/{id}/papers/{name}",
    response_class=Response,
    responses={200: {"content": {media: {} for media in MEDIA.values()}}},
)
def get_paper(id: str, name: str, request: Request, number: int | None = None) -> Response:
    """Make one paper of a saved version, the newest where none is named."""
    paper = _paper(name)
    content = _made(request.app.state.answering, id, paper, number, page=uuid.uuid4().hex)
    return Response(
        content,
        media_type=MEDIA[paper.file[paper.file.rindex(".") :]],
        headers={"Content-Disposition": f'inline; filename="{paper.file}"', "Cache-Control": "no-store"},
    )


@router.post("/jobs/{id}/papers/{name}/make", response_class=EventStream, responses={200: {"model": Made}})
def make_paper(id: str, name: str, request: Request, number: int | None = None) -> EventStream:
    """Make a paper as ``get_paper`` does, telling how far it is; event ``made`` says where it lies. Leaving stops it."""
    answering: Answering = request.app.state.answering
    paper = _paper(name)
    number = number or answering.store.job(id).head
    page = uuid.uuid4().hex

    def work(look: Look) -> Iterator[Event]:
        _made(answering, id, paper, number, page=page, look=look)
        yield "made", Made(url=f"api/jobs/{id}/papers/{name}?number={number}").model_dump()

    return stream(work)


def _paper(name: str) -> Paper:
    if name not in PAPERS:
        raise InputError(f"there is no paper {name[:40]}", code="paper-unknown")
    return PAPERS[name]


def _made(
    answering: Answering, id: str, paper: Paper, number: int | None, *, page: str, look: Look | None = None
) -> bytes:
    reading = answering.reading(id, answering.store.version(id, number).document, number)
    if reading.problems or answering.stand(reading, page=page, progress=look).problems:
        raise InputError(
            "the document has things to put right first; no paper is made from it",
            code="document-has-problems",
        )
    *_, (_, design) = answering.further(reading, page=page, progress=look)
    if look is not None:
        look(f"setting {paper.file}")
    return answering.paper(reading, paper, design)
