"""Jobs: list, new, look, save, versions, copy, put away, export."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from typing import Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field
from tomlkit.exceptions import TOMLKitError

from roofwell import examples
from roofwell.errors import InputError
from roofwell.job.compare import Difference, differences
from roofwell.job.described import json_schema
from roofwell.job.files import beside, named_files
from roofwell.job.lines import Lines
from roofwell.job.reading import read_file
from roofwell.job.recover import recover
from roofwell.job.starter import starter
from roofwell.job.toml_text import parse_toml
from roofwell.job.write import set_leaf, set_leaves, with_leaf
from roofwell.papers.results import plain
from roofwell.store import JobSummary, Saved, Store, StoredFile, Version, VersionSummary

router = APIRouter(prefix="/api", tags=["jobs"])

Who = Field(default="", max_length=80)
Operation = Field(default=None, max_length=64)


class NewJob(BaseModel):
    """A job to be made: from a starter, from a shipped example, or from the text of a document."""

    starter: Literal["us", "metric"] | None = None
    example: str | None = Field(default=None, max_length=80)
    document: str | None = None
    who: str = Who
    operation: str | None = Operation


class Edit(BaseModel):
    """One leaf changed: its key path (``runs.P3.slope``) and what it holds now; null takes it out."""

    path: str = Field(max_length=300)
    value: Any = None


class Save(BaseModel):
    """A new version: the whole text, or edits of version ``base``."""

    base: int
    document: str | None = None
    edits: list[Edit] = Field(default_factory=list, max_length=2000)
    who: str = Who
    note: str = Field(default="", max_length=400)
    operation: str | None = Operation


class Restore(BaseModel):
    """An old version to be the newest again."""

    number: int
    base: int
    who: str = Who


class PutAway(BaseModel):
    """Put a job away, or bring it back."""

    archived: bool


class Opened(BaseModel):
    """A job as the page opens it: its newest (or an older) version, and its values by key path."""

    summary: JobSummary
    version: Version
    values: dict[str, Any]
    files: list[StoredFile]


def _store(request: Request) -> Store:
    store: Store = request.app.state.store
    return store


@router.get("/jobs")
def list_jobs(
    request: Request, search: str = Query(default="", max_length=200), archived: bool = False
) -> list[JobSummary]:
    """Return the jobs, the one changed last first."""
    return list(_store(request).jobs(search=search, archived=archived))


@router.get("/examples")
def list_examples() -> list[str]:
    """Return the names of the shipped examples (invented)."""
    return list(examples.names())


@router.post("/jobs", status_code=201)
def new_job(new: NewJob, request: Request) -> Saved:
    """Make a job."""
    given = [name for name in ("starter", "example", "document") if getattr(new, name) is not None]
    if len(given) != 1:
        raise InputError("say one of starter, example or document", code="new-from-what")
    files: dict[str, bytes] = {}
    if new.starter is not None:
        text = starter("house" if new.starter == "us" else "metric-house")
    elif new.example is not None:
        text, files = example(new.example)
    else:
        text = new.document or ""
    return _store(request).create(text, who=new.who, operation=new.operation, files=files)


@router.get("/jobs/{id}")
def open_job(id: str, request: Request, number: int | None = None) -> Opened:
    """Return a job with one of its versions, the newest where none is named."""
    store = _store(request)
    version = store.version(id, number)
    reading = request.app.state.answering.reading(id, version.document, number)
    return Opened(
        summary=store.job(id),
        version=version,
        values=plain(reading.document),
        files=list(store.files(id, number)),
    )


@router.post("/jobs/{id}/save")
def save_job(id: str, save: Save, request: Request) -> Saved:
    """Keep a new version; 409 where somebody saved meanwhile."""
    store = _store(request)
    text = save.document
    if text is None:
        text = edited(store.version(id, save.base).document, save.edits)
    return store.save(id, text, base=save.base, who=save.who, note=save.note, operation=save.operation)


@router.get("/jobs/{id}/versions")
def list_versions(id: str, request: Request) -> list[VersionSummary]:
    """Return every version, newest first."""
    return list(_store(request).versions(id))


@router.get("/jobs/{id}/compare")
def compare(id: str, request: Request, older: int, newer: int) -> list[Difference]:
    """Return what differs between two versions, leaf by leaf."""
    store = _store(request)
    return differences(store.version(id, older).document, store.version(id, newer).document)


@router.post("/jobs/{id}/restore")
def restore(id: str, which: Restore, request: Request) -> Saved:
    """Make an old version the newest again."""
    return _store(request).restore(id, which.number, base=which.base, who=which.who)


@router.post("/jobs/{id}/duplicate", status_code=201)
def duplicate(id: str, request: Request, who: str = Query(default="", max_length=80)) -> Saved:
    """Make a copy."""
    return _store(request).duplicate(id, who=who)


@router.post("/jobs/{id}/archive", status_code=204)
def archive(id: str, wish: PutAway, request: Request) -> None:
    """Put a job away or bring it back."""
    _store(request).archive(id, archived=wish.archived)


@router.get("/jobs/{id}/document.toml")
def export(id: str, request: Request, number: int | None = None) -> Response:
    """Return the document as a file."""
    store = _store(request)
    name = re.sub(r"[^A-Za-z0-9]+", "-", store.job(id).name).strip("-").lower() or "job"
    return Response(
        store.version(id, number).document,
        media_type="application/toml; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name[:60]}.toml"'},
    )


def example(name: str) -> tuple[str, dict[str, bytes]]:
    """Return the text of a shipped example and the files that it names."""
    if name not in examples.names():
        raise InputError(f"there is no example {name[:40]}", code="example-unknown")
    path = examples.path(name)
    job = read_file(path).job
    assert job is not None
    found = {file: beside(file, path.parent) for file in named_files(job)}
    return path.read_text(encoding="utf-8"), {
        file: there.read_bytes() for file, there in found.items() if there is not None
    }


def edited(text: str, edits: list[Edit]) -> str:
    """Return a document with edits made in their order; its comments stay, and what cannot be read becomes one."""
    found = recover(text) if edits else None
    text = found.text if found is not None and found.problems else text
    if len(edits) > 1:  # a visit without signal sends hundreds
        wanted = changed_document(text, edits)
        if wanted is not None:
            at_one_go = _with_leaves(text, edits)
            written = _document(at_one_go)
            if written is not None and written[0] == wanted[0]:
                return at_one_go
    for edit in edits:
        text = _with_leaf(text, edit.path, json.dumps(edit.value))
    return text


def _with_leaves(text: str, edits: list[Edit]) -> str:
    """All edits in one reading and writing; the text as it was where the library loses its way among them."""
    try:
        return set_leaves(text, ((edit.path, edit.value) for edit in edits))
    except TOMLKitError:
        return text


def changed_document(text: str, edits: list[Edit]) -> tuple[dict[str, Any], Lines] | None:
    """Return the document of a text with edits made, without writing the text, and the lines of the text as it was; None
    where only the text tells."""
    parsed = _document(text)
    if parsed is None:
        return None
    document, lines = parsed
    for edit in edits:
        changed = with_leaf(document, edit.path, edit.value)
        if changed is None:
            return None
        document = changed
    return document, lines


@lru_cache(maxsize=8)
def _document(text: str) -> tuple[dict[str, Any], Lines] | None:
    document, lines, broken = parse_toml(text)
    return (document, lines) if broken is None else None


@lru_cache(maxsize=256)
def _with_leaf(text: str, path: str, value: str) -> str:
    """One edit; kept, because a page sends all its edits since the last version with every new one."""
    return set_leaf(text, path, json.loads(value))


@router.get("/schema")
def schema() -> dict[str, Any]:
    """Return the JSON Schema of the document: what each field takes, and what it means."""
    return json_schema()
