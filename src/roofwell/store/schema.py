"""The tables of the store. A migration in ``migrations`` goes with every change here; a test compares the two."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, LargeBinary, String, Text, UniqueConstraint, text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Base(DeclarativeBase):
    """Root of the tables."""


class JobRow(Base):
    """One job. ``name`` is that of its newest version, for the list; ``head`` is that version's number.

    Times are in UTC, without a zone, as SQLite keeps them.
    """

    __tablename__ = "jobs"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    name: Mapped[str] = mapped_column(Text)
    customer: Mapped[str] = mapped_column(Text)
    made: Mapped[datetime]
    changed: Mapped[datetime] = mapped_column(index=True)
    archived: Mapped[bool]
    head: Mapped[int]


class VersionRow(Base):
    """One save. ``operation`` is the mark that who saved gave to it: the same mark again is the same save."""

    __tablename__ = "versions"
    __table_args__ = (
        UniqueConstraint("job", "number", name="one_version_of_a_number"),
        Index("one_save_of_an_operation", "operation", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job: Mapped[str] = mapped_column(ForeignKey("jobs.id", ondelete="CASCADE"), index=True)
    number: Mapped[int]
    saved: Mapped[datetime]
    who: Mapped[str] = mapped_column(Text)
    note: Mapped[str] = mapped_column(Text)
    document: Mapped[str] = mapped_column(Text)
    operation: Mapped[str | None] = mapped_column(String(64))


class FileRow(Base):
    """A file that a job names: a rule file, a price book, a gauge record, a photo. A name is never a path of a disk.

    ``gone``: when it was replaced or taken away; it stays for the versions of before. ``operation``: the mark of the
    upload, as in ``VersionRow``.
    """

    __tablename__ = "files"
    __table_args__ = (
        Index("one_file_of_a_name", "job", "name", unique=True, sqlite_where=text("gone IS NULL")),
        Index("one_upload_of_an_operation", "operation", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job: Mapped[str] = mapped_column(ForeignKey("jobs.id", ondelete="CASCADE"), index=True)
    name: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(String(64))
    added: Mapped[datetime]
    content: Mapped[bytes] = mapped_column(LargeBinary)
    size: Mapped[int] = mapped_column(server_default="0")
    who: Mapped[str] = mapped_column(Text, server_default="")
    operation: Mapped[str | None] = mapped_column(String(64))
    gone: Mapped[datetime | None]
