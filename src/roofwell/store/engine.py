"""Opening the SQLite file: brought up to date by its migrations, safe against a killed process."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect
from sqlalchemy.exc import DatabaseError

from roofwell.errors import InputError

PATIENCE_S = 10.0
NEWEST = "0002"  # the last of the migrations; a test compares


def open_engine(path: str) -> Engine:
    """Return an engine on the SQLite file at ``path``, its tables made or brought up to date.

    What was committed outlives a killed process and a machine that loses its power: the write-ahead log is brought to
    the disk at every commit.

    Raises
    ------
    InputError
        ``store-unreadable``, ``store-newer``.
    """
    try:
        Path(path).parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _unreadable(path, error.strerror or "the folder cannot be made") from None
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": PATIENCE_S})
    event.listen(engine, "connect", _as_we_need_it)
    event.listen(engine, "begin", _write_at_once)
    try:
        _bring_up_to_date(engine, path)
    except DatabaseError as error:
        raise _unreadable(path, str(error.orig)) from None
    return engine


def _as_we_need_it(connection: Any, record: object) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves: the driver's own comes too late
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _write_at_once(connection: Any) -> None:
    """Take the right to write when a transaction begins, so that two savers wait for each other and never fail."""
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _bring_up_to_date(engine: Engine, path: str) -> None:
    with engine.begin() as connection:
        found = _revision(connection)
        if found == NEWEST:
            return
        # only a new or an old file needs it, and it takes longer to load than all else here
        from alembic import command
        from alembic.config import Config
        from alembic.script import ScriptDirectory

        config = Config()
        config.set_main_option(
            "script_location", str(Path(__file__).parent / "migrations").replace("%", "%%")
        )
        known = {revision.revision for revision in ScriptDirectory.from_config(config).walk_revisions()}
        if found is not None and found not in known:
            raise InputError(
                f"{path} was written by a newer Roofwell; update Roofwell to open it. Nothing in it was changed",
                code="store-newer",
            )
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _revision(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    row = connection.exec_driver_sql("SELECT version_num FROM alembic_version").first()
    return None if row is None else str(row[0])


def _unreadable(path: str, why: str) -> InputError:
    return InputError(
        f"{path} cannot be used as the place where jobs are kept: {why}", code="store-unreadable"
    )
