"""The files of a job in an open session: kept, replaced, taken away; what is gone stays for the versions of before."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import ColumnElement, Row, Select, and_, func, insert, literal, or_, select
from sqlalchemy.orm import Session

from roofwell.errors import ConflictError, InputError
from roofwell.job.files import outside
from roofwell.store.contents import Fit, Kind, kind_of
from roofwell.store.schema import FileRow, JobRow, VersionRow

LONGEST_NAME = 200
MOST_BYTES = 500_000_000  # of one job, with what was replaced: some 500 photos; more would slow every copy of the store
MOST_FILES = 2000  # of one job at a time; a house has some dozens


@dataclass(frozen=True, slots=True)
class StoredFile:
    """A file that a job names; its bytes are asked for by ``Store.file``. ``size`` in bytes, ``added`` in UTC."""

    name: str
    kind: Kind
    sha256: str
    size: int
    added: datetime
    who: str


@dataclass(frozen=True, slots=True)
class PutFile:
    """What came of an upload: the file as it is kept; ``fresh`` False where it was there already."""

    file: StoredFile
    fresh: bool


def known(session: Session, operation: str | None) -> PutFile | None:
    """Return what came of an upload that was sent before under the same mark."""
    if operation is None:
        return None
    row = session.execute(_columns().where(FileRow.operation == operation)).first()
    return None if row is None else PutFile(_stored(row), fresh=False)


def put(
    session: Session, job: JobRow, fit: Fit, *, who: str, operation: str | None, replace: bool, now: datetime
) -> PutFile:
    """Keep a file; another one of that name stays as it is unless ``replace``."""
    sha256 = hashlib.sha256(fit.content).hexdigest()
    there = None
    for row in session.execute(_columns().where(FileRow.job == job.id, FileRow.gone.is_(None))):
        if row[0].casefold() == fit.name.casefold():
            there = _stored(row)
    if there is not None and (there.name, there.sha256) == (fit.name, sha256):
        return PutFile(there, fresh=False)
    if there is not None and not (replace and there.name == fit.name):
        raise ConflictError(
            f"the job has another file {there.name} already; give this one another name, or replace that one",
            code="file-there",
        )
    _room(session, job, fit)
    if there is not None:
        _leave(session, job, there.name, now)
        session.flush()
    _add(session, job, fit.name, fit.content, sha256=sha256, who=who, operation=operation, now=now)
    session.flush()
    return PutFile(stored(session, job.id, fit.name), fresh=True)


def add_named(
    session: Session, job: JobRow, contents: Mapping[str, bytes], *, who: str, now: datetime
) -> None:
    """Keep the files that a new job comes with, as they are."""
    for name, content in contents.items():
        reason = outside(name)
        if reason is not None or len(name) > LONGEST_NAME:
            raise InputError(
                f'"{name[:80]}" cannot be the name of a file: {reason or "it is too long"}', code="file-name"
            )
        sha256 = hashlib.sha256(content).hexdigest()
        _add(session, job, name, content, sha256=sha256, who=who, operation=None, now=now)


def copy(session: Session, old: str, new: JobRow) -> None:
    """Copy the files of a job to another, within the database."""
    kept = (FileRow.name, FileRow.sha256, FileRow.added, FileRow.content, FileRow.size, FileRow.who)
    chosen = select(literal(new.id), *kept).where(FileRow.job == old, FileRow.gone.is_(None))
    session.execute(insert(FileRow).from_select(["job", *(column.key for column in kept)], chosen))


def take_away(session: Session, job: JobRow, name: str, *, now: datetime) -> None:
    """Let a job have a file no more; it stays for the versions of before."""
    _leave(session, job, name, now)


def listed(session: Session, job: str, *, before: datetime | None = None) -> list[StoredFile]:
    """Return the files of a job by name: as they are now, or as they stood right before a moment (UTC, no zone)."""
    chosen = _columns().where(FileRow.job == job, _there(before)).order_by(FileRow.name)
    return [_stored(row) for row in session.execute(chosen)]


def stored(session: Session, job: str, name: str, *, before: datetime | None = None) -> StoredFile:
    """Return one file of a job."""
    row = session.execute(_columns().where(FileRow.job == job, FileRow.name == name, _there(before))).first()
    if row is None:
        raise _unknown(name)
    return _stored(row)


def content(session: Session, job: str, name: str, *, before: datetime | None = None) -> bytes:
    """Return the bytes of one file of a job."""
    found = session.scalar(
        select(FileRow.content).where(FileRow.job == job, FileRow.name == name, _there(before))
    )
    if found is None:
        raise _unknown(name)
    return found


def content_of(session: Session, job: str, sha256: str) -> bytes:
    """Return the bytes of what a job has, or had, under a checksum."""
    found = session.scalar(
        select(FileRow.content).where(FileRow.job == job, FileRow.sha256 == sha256, FileRow.size > 0).limit(1)
    )
    if found is None:
        raise _unknown(sha256)
    return found


def followed(session: Session, job: str, number: int) -> datetime | None:
    """Return when the version after ``number`` was saved; None if it is the newest: its files are those of now."""
    return session.scalar(
        select(VersionRow.saved).where(VersionRow.job == job, VersionRow.number == number + 1)
    )


def _there(before: datetime | None) -> ColumnElement[bool]:
    if before is None:
        return FileRow.gone.is_(None)
    return and_(FileRow.added < before, or_(FileRow.gone.is_(None), FileRow.gone >= before))


def _columns() -> Select[str, str, int, datetime, str]:
    return select(FileRow.name, FileRow.sha256, FileRow.size, FileRow.added, FileRow.who)  # never the bytes


def _stored(row: Row[str, str, int, datetime, str]) -> StoredFile:
    name, sha256, size, added, who = row
    return StoredFile(name, kind_of(name), sha256, size, added.replace(tzinfo=UTC), who)


def _leave(session: Session, job: JobRow, name: str, now: datetime) -> None:
    """Let the file of a name be gone; one that no version ended with gives its room back, and keeps its mark."""
    row = _current(session, job.id, name)
    row.gone = now
    ended = session.scalar(select(func.max(VersionRow.saved)).where(VersionRow.job == job.id))
    if ended is None or ended <= row.added:
        row.content, row.size = b"", 0


def _current(session: Session, job: str, name: str) -> FileRow:
    row = session.scalar(
        select(FileRow).where(FileRow.job == job, FileRow.name == name, FileRow.gone.is_(None))
    )
    if row is None:
        raise _unknown(name)
    return row


def _add(
    session: Session,
    job: JobRow,
    name: str,
    content: bytes,
    *,
    sha256: str,
    who: str,
    operation: str | None,
    now: datetime,
) -> None:
    session.add(
        FileRow(
            job=job.id,
            name=name,
            sha256=sha256,
            added=now,
            content=content,
            size=len(content),
            who=who,
            operation=operation,
            gone=None,
        )
    )


def _room(session: Session, job: JobRow, fit: Fit) -> None:
    of_job = FileRow.job == job.id
    count = session.scalar(select(func.count()).where(of_job, FileRow.gone.is_(None))) or 0
    size = session.scalar(select(func.sum(FileRow.size)).where(of_job)) or 0
    if count >= MOST_FILES or size + len(fit.content) > MOST_BYTES:
        raise InputError(
            f"the job has {count:,} files of {size / 1e6:,.0f} MB already, with those that were replaced; "
            f"{MOST_FILES:,} files of {MOST_BYTES // 1_000_000} MB are kept in one job. Copy the job to go on",
            code="job-full",
        )


def _unknown(name: str) -> InputError:
    return InputError(f'the job has no file "{name[:80]}"', code="file-unknown")
