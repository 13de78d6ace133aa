"""What can be done with the jobs that are kept: make, look up, save, copy, put away, look back."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import Engine, or_, select
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from roofwell.errors import ConflictError, InputError
from roofwell.job.toml_text import parse_toml
from roofwell.store import contents
from roofwell.store import files as stored_files
from roofwell.store.files import PutFile, StoredFile
from roofwell.store.schema import JobRow, VersionRow

UNNAMED = "Job without a name"
LONGEST_NAME = 200
MOST_VERSIONS = 2**31 - 1
LONGEST_DOCUMENT = 2_000_000  # characters; the largest example has 15,000


@dataclass(frozen=True, slots=True)
class JobSummary:
    """A job as a list shows it: the name and customer of its newest version ``head``; times in UTC."""

    id: str
    name: str
    customer: str
    made: datetime
    changed: datetime
    archived: bool
    head: int


@dataclass(frozen=True, slots=True)
class VersionSummary:
    """One save: who and when (UTC), and a note (``restored from 3``)."""

    job: str
    number: int
    saved: datetime
    who: str
    note: str


@dataclass(frozen=True, slots=True)
class Version:
    """One save with its document, as entered."""

    job: str
    number: int
    saved: datetime
    who: str
    note: str
    document: str


@dataclass(frozen=True, slots=True)
class Saved:
    """What came of a save: the version that now holds it; ``fresh`` False where it was there already."""

    job: str
    number: int
    fresh: bool


class Store:
    """The jobs in one SQLite file. Every method is one transaction: done whole when it returns, or not at all.

    Raises
    ------
    InputError
        ``job-unknown``, ``version-unknown``, ``file-unknown`` if there is none of that name; ``file-name`` for a name
        that a job may not use; ``document-too-long``; ``store-full`` if it cannot be written.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def jobs(self, *, search: str = "", archived: bool = False) -> tuple[JobSummary, ...]:
        """Return the jobs whose name or customer holds every word of ``search``, newest first."""
        chosen = select(JobRow).where(JobRow.archived == archived)
        for word in search.split():
            chosen = chosen.where(
                or_(
                    JobRow.name.icontains(word, autoescape=True),
                    JobRow.customer.icontains(word, autoescape=True),
                )
            )
        with self._session() as session:
            return tuple(
                _summary(row) for row in session.scalars(chosen.order_by(JobRow.changed.desc(), JobRow.id))
            )

    def job(self, id: str) -> JobSummary:
        """Return one job."""
        with self._session() as session:
            return _summary(_job(session, id))

    def create(
        self,
        document: str,
        *,
        who: str,
        note: str = "",
        operation: str | None = None,
        files: Mapping[str, bytes] | None = None,
    ) -> Saved:
        """Make a job from the text of a document, good or not, with the files that it names."""
        _long_enough(document)
        with self._session() as session:
            known = _known(session, operation)
            if known is not None:
                return known
            job = _new(session, document)
            stored_files.add_named(session, job, files or {}, who=who, now=job.made)
            return _add(session, job, document, who, note, operation)

    def save(
        self, id: str, document: str, *, base: int, who: str, note: str = "", operation: str | None = None
    ) -> Saved:
        """Keep a new version of a job.

        Parameters
        ----------
        base
            Number of the version that was worked on.
        operation
            A mark of the save, given by who saves: sent again after a lost reply it changes nothing.

        Raises
        ------
        ConflictError
            If somebody saved a later version than ``base``: nothing is written over.
        """
        _long_enough(document)
        with self._session() as session:
            job = _job(session, id)
            known = _known(session, operation)
            if known is not None:
                return known
            if job.head != base:
                last = _version(session, id, job.head)
                raise ConflictError(
                    f"{last.who or 'somebody'} saved version {job.head} after the version {base} that you worked on",
                    code="saved-meanwhile",
                )
            if _version(session, id, job.head).document == document:
                return Saved(id, job.head, fresh=False)
            return _add(session, job, document, who, note, operation)

    def version(self, id: str, number: int | None = None) -> Version:
        """Return one version of a job; the newest where no number is given."""
        with self._session() as session:
            row = _version(session, id, _job(session, id).head if number is None else number)
            return Version(row.job, row.number, _utc(row.saved), row.who, row.note, row.document)

    def versions(self, id: str) -> tuple[VersionSummary, ...]:
        """Return every version of a job, newest first."""
        with self._session() as session:
            _job(session, id)
            columns = (VersionRow.job, VersionRow.number, VersionRow.saved, VersionRow.who, VersionRow.note)
            chosen = select(*columns).where(VersionRow.job == id).order_by(VersionRow.number.desc())
            return tuple(
                VersionSummary(job, number, _utc(saved), who, note)
                for job, number, saved, who, note in session.execute(chosen)
            )

    def restore(self, id: str, number: int, *, base: int, who: str) -> Saved:
        """Keep an old version once more, as the newest; what came between stays."""
        return self.save(
            id, self.version(id, number).document, base=base, who=who, note=f"restored from version {number}"
        )

    def duplicate(self, id: str, *, who: str) -> Saved:
        """Make a job of its own from the newest version of another, with its files."""
        with self._session() as session:
            old = _job(session, id)
            document = _version(session, id, old.head).document
            job = _new(session, document)
            stored_files.copy(session, id, job)
            return _add(session, job, document, who, f"copied from {old.name}"[:LONGEST_NAME], None)

    def archive(self, id: str, *, archived: bool = True) -> None:
        """Put a job away, or bring it back; nothing of it is lost."""
        with self._session() as session:
            _job(session, id).archived = archived

    def put_file(
        self,
        id: str,
        name: str,
        content: bytes,
        *,
        who: str = "",
        operation: str | None = None,
        replace: bool = False,
    ) -> PutFile:
        """Keep a file for a job under a name that its document can use; a picture is drawn anew.

        Parameters
        ----------
        operation
            A mark of the upload, given by who sends it: sent again after a lost reply it changes nothing.
        replace
            Whether it takes the place of another file of that name; that one stays for the versions of before.

        Raises
        ------
        ConflictError
            ``file-there`` if there is another file of that name and it is not to be replaced.
        InputError
            Beside those of ``contents.fit``: ``job-full``.
        """
        with self._session() as session:
            _job(session, id)
            sent = stored_files.known(session, operation)
        if sent is not None:
            return sent
        fit = contents.fit(name, content)  # takes its time, and holds nobody up
        with self._session() as session:
            job, now = _job(session, id), _now()
            put = stored_files.known(session, operation) or stored_files.put(
                session, job, fit, who=who, operation=operation, replace=replace, now=now
            )
            if put.fresh:
                job.changed = now
            return put

    def take_file_away(self, id: str, name: str) -> None:
        """Let a job have a file no more; it stays for the versions of before."""
        with self._session() as session:
            stored_files.take_away(session, _job(session, id), name, now=_now())

    def files(self, id: str, number: int | None = None) -> Sequence[StoredFile]:
        """Return the files of a job by name: as they are, or as they stood last while ``number`` was the newest version."""
        with self._session() as session:
            _job(session, id)
            return stored_files.listed(session, id, before=_followed(session, id, number))

    def stored_file(self, id: str, name: str, number: int | None = None) -> StoredFile:
        """Return what is known of one file of a job, without its bytes."""
        with self._session() as session:
            return stored_files.stored(session, id, name, before=_followed(session, id, number))

    def file(self, id: str, name: str, number: int | None = None) -> bytes:
        """Return the bytes of one file of a job."""
        with self._session() as session:
            return stored_files.content(session, id, name, before=_followed(session, id, number))

    def content(self, id: str, sha256: str) -> bytes:
        """Return the bytes of what a job has, or had, under a checksum."""
        with self._session() as session:
            return stored_files.content_of(session, id, sha256)

    def _session(self) -> _OneTransaction:
        return _OneTransaction(self._engine)


class _OneTransaction:
    """A session that is committed at its end, or rolled back; a disk that is full is told in words."""

    def __init__(self, engine: Engine) -> None:
        self._session = Session(engine, expire_on_commit=False)

    def __enter__(self) -> Session:
        try:
            self._session.connection()
        except OperationalError as error:
            self._session.close()
            raise _not_written(error) from None
        return self._session

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: object) -> None:
        try:
            if kind is None:
                self._session.commit()
            else:
                self._session.rollback()
        except OperationalError as failed:
            raise _not_written(failed) from None
        finally:
            self._session.close()
        if isinstance(error, OperationalError):
            raise _not_written(error) from None


def _not_written(error: OperationalError) -> InputError:
    return InputError(
        f"the jobs could not be read or written ({error.orig}); what was kept before is there still",
        code="store-full",
    )


def _summary(row: JobRow) -> JobSummary:
    return JobSummary(
        row.id, row.name, row.customer, _utc(row.made), _utc(row.changed), row.archived, row.head
    )


def _job(session: Session, id: str) -> JobRow:
    row = session.get(JobRow, id)
    if row is None:
        raise InputError("there is no such job here", code="job-unknown")
    return row


def _version(session: Session, id: str, number: int) -> VersionRow:
    asked = number if 0 < number <= MOST_VERSIONS else 0  # no database takes a number of any length
    row = session.scalar(select(VersionRow).where(VersionRow.job == id, VersionRow.number == asked))
    if row is None:
        raise InputError(
            f"the job has no version {number if asked else 'of that number'}", code="version-unknown"
        )
    return row


def _known(session: Session, operation: str | None) -> Saved | None:
    if operation is None:
        return None
    row = session.scalar(select(VersionRow).where(VersionRow.operation == operation))
    return None if row is None else Saved(row.job, row.number, fresh=False)


def _new(session: Session, document: str) -> JobRow:
    name, customer = _called(document, UNNAMED, "")
    now = _now()
    job = JobRow(
        id=str(uuid.uuid4()), name=name, customer=customer, made=now, changed=now, archived=False, head=0
    )
    session.add(job)
    session.flush()
    return job


def _add(session: Session, job: JobRow, document: str, who: str, note: str, operation: str | None) -> Saved:
    now = _now()
    job.head += 1
    job.changed = now
    job.name, job.customer = _called(document, job.name, job.customer)
    session.add(
        VersionRow(
            job=job.id, number=job.head, saved=now, who=who, note=note, document=document, operation=operation
        )
    )
    return Saved(job.id, job.head, fresh=True)


def _called(document: str, name: str, customer: str) -> tuple[str, str]:
    """Return what a document calls its job and customer; of a text that cannot be read the names that it had."""
    read, _, broken = parse_toml(document)
    about = read.get("job") if broken is None else None
    if not isinstance(about, dict):
        return (name, customer) if broken is not None else (UNNAMED, "")
    texts = [about.get(key) for key in ("name", "customer")]
    called, whose = (text.strip()[:LONGEST_NAME] if isinstance(text, str) else "" for text in texts)
    return called or UNNAMED, whose


def _followed(session: Session, id: str, number: int | None) -> datetime | None:
    return (
        None if number is None else stored_files.followed(session, id, _version(session, id, number).number)
    )


def _long_enough(document: str) -> None:
    if len(document) > LONGEST_DOCUMENT:
        raise InputError(
            f"a document of {len(document):,} characters is no job; at most {LONGEST_DOCUMENT:,} are kept",
            code="document-too-long",
        )


def _now() -> datetime:
    return datetime.now(UTC).replace(tzinfo=None)


def _utc(when: datetime) -> datetime:
    return when.replace(tzinfo=UTC)
