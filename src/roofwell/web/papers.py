"""The papers of a version, made when they are asked for."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from roofwell.errors import InputError
from roofwell.papers import PAPERS
from roofwell.web.answering import Answering

router = APIRouter(prefix="/api", tags=["papers"])

MEDIA = {".pdf": "application/pdf", ".csv": "text/csv; charset=utf-8", ".json": "application/json"}


@dataclass(frozen=True, slots=True)
class PaperSummary:
    """A paper that can be made: its name, file, and what it is for."""

    name: str
    file: str
    what: str


@router.get("/papers")
def list_papers() -> list[PaperSummary]:
    """Return every paper that there is."""
    return [PaperSummary(paper.name, paper.file, paper.what) for paper in PAPERS.values()]


@router.get("/jobs/{id}/papers/{name}")
def make_paper(id: str, name: str, request: Request, number: int | None = None) -> Response:
    """Make one paper of a saved version, the newest where none is named."""
    if name not in PAPERS:
        raise InputError(f"there is no paper {name[:40]}", code="paper-unknown")
    answering: Answering = request.app.state.answering
    reading = answering.reading(id, answering.store.version(id, number).document)
    if reading.problems or reading.job is None:
        raise InputError(
            "the document has things to put right first; no paper is made from it",
            code="document-has-problems",
        )
    designed = answering.design(reading, page=uuid.uuid4().hex)
    assert designed is not None
    paper = PAPERS[name]
    suffix = paper.file[paper.file.rindex(".") :]
    return Response(
        paper.make(designed),
        media_type=MEDIA[suffix],
        headers={"Content-Disposition": f'inline; filename="{paper.file}"'},
    )
