"""Two versions of a job side by side: what was changed, and how the answers moved."""

from __future__ import annotations

import uuid

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel

from roofwell.design.moved import Moved, moved
from roofwell.job.compare import Difference, differences
from roofwell.web.answering import Answering, Stood

router = APIRouter(prefix="/api", tags=["jobs"])


class Compared(BaseModel):
    """What was changed leaf by leaf, what it moved, and how many things there were to put right in each."""

    changes: list[Difference]
    moved: Moved
    problems: tuple[int, int]


@router.get("/jobs/{id}/moved")
def compare_answers(
    id: str, request: Request, older: int, newer: int, page: str = Query(default="", max_length=64)
) -> Compared:
    """Design two saved versions with the files of their time and compare; 409 ``outdated`` where the page asks again."""
    answering: Answering = request.app.state.answering
    mark = page or uuid.uuid4().hex
    texts = [answering.store.version(id, number).document for number in (older, newer)]

    def stood(which: int, number: int) -> tuple[Stood, int]:
        reading = answering.reading(id, texts[which], number)
        found = answering.stand(reading, page=f"{mark} versions {which}")
        return found, len(reading.problems) + len(found.problems)

    (one, wrong_one), (two, wrong_two) = stood(0, older), stood(1, newer)
    designs = [each.standing.design if each.standing is not None else None for each in (one, two)]
    return Compared(
        changes=differences(*texts), moved=moved(designs[0], designs[1]), problems=(wrong_one, wrong_two)
    )
