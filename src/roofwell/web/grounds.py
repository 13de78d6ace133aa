"""What the checks are and where their figures were read, in the words of the papers: the same for every job."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from roofwell import tables
from roofwell.checks import REGISTER
from roofwell.papers.set.contents import source_words

router = APIRouter(prefix="/api", tags=["answers"])


class Grounds(BaseModel):
    """``checks``: what each check asks, by the code that a finding carries; ``sources``: each source in words, by key."""

    checks: dict[str, str]
    sources: dict[str, str]


@router.get("/grounds")
def grounds() -> Grounds:
    """Return what every check asks, and every source."""
    return Grounds(
        checks={code: check.about for code, check in REGISTER.items()},
        sources={key: source_words(key) for key in tables.sources()},
    )
