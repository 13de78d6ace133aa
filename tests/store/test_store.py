"""What was acknowledged is there; nothing is written over silently; every save stays."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from roofwell.errors import ConflictError, InputError
from roofwell.store import Store, open_store
from roofwell.store.engine import NEWEST, open_engine
from roofwell.store.schema import Base

ONE = 'document = 1\n# a remark that stays\n[job]\nname = "Alder Lane (invented)"\ncustomer = "An invented owner"\n'
TWO = ONE.replace("Alder Lane", "Birch Row")


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(str(tmp_path / "kept" / "jobs.sqlite"))


def test_a_job_comes_back_as_it_was_entered(store: Store) -> None:
    saved = store.create(ONE, who="Ada")
    assert store.version(saved.job).document == ONE
    assert store.job(saved.job).name == "Alder Lane (invented)"
    assert store.version(saved.job).who == "Ada"


def test_a_document_that_is_no_toml_is_kept_and_leaves_the_name(store: Store) -> None:
    saved = store.create(ONE, who="Ada")
    half = ONE + "[runs.P1\nslope = "
    store.save(saved.job, half, base=1, who="Ada")
    assert store.version(saved.job).document == half
    assert store.job(saved.job).name == "Alder Lane (invented)"


def test_every_save_is_a_version_that_stays(store: Store) -> None:
    job = store.create(ONE, who="Ada").job
    assert store.save(job, TWO, base=1, who="Ben", note="moved the well").number == 2
    assert [(v.number, v.who, v.note) for v in store.versions(job)] == [
        (2, "Ben", "moved the well"),
        (1, "Ada", ""),
    ]
    assert store.version(job, 1).document == ONE
    assert store.restore(job, 1, base=2, who="Ada").number == 3
    assert store.version(job).document == ONE
    assert store.version(job).note == "restored from version 1"
    assert store.version(job, 2).document == TWO


def test_saving_the_same_again_makes_no_version(store: Store) -> None:
    job = store.create(ONE, who="Ada").job
    assert store.save(job, ONE, base=1, who="Ada").fresh is False
    assert len(store.versions(job)) == 1


def test_the_second_saver_is_told_and_writes_nothing_over(store: Store) -> None:
    job = store.create(ONE, who="Ada").job
    store.save(job, TWO, base=1, who="Ben")
    with pytest.raises(ConflictError, match="Ben saved version 2 after the version 1") as caught:
        store.save(job, ONE + "# mine\n", base=1, who="Ada")
    assert caught.value.code == "saved-meanwhile"
    assert store.version(job).document == TWO


def test_a_save_sent_twice_counts_once(store: Store) -> None:
    first = store.create(ONE, who="Ada", operation="a1")
    again = store.create(ONE, who="Ada", operation="a1")
    assert (again.job, again.number, again.fresh) == (first.job, 1, False)
    assert len(store.jobs()) == 1
    store.save(first.job, TWO, base=1, who="Ada", operation="a2")
    late = store.save(
        first.job, TWO, base=1, who="Ada", operation="a2"
    )  # its reply was lost: no conflict with itself
    assert (late.number, late.fresh) == (2, False)
    assert len(store.versions(first.job)) == 2


@pytest.mark.parametrize(
    ("search", "found"), [("", 2), ("alder", 1), ("ROW birch", 1), ("owner", 2), ("%", 0), ("_", 0), ("x", 0)]
)
def test_the_list_is_searched_by_name_and_customer(store: Store, search: str, found: int) -> None:
    store.create(ONE, who="Ada")
    store.create(TWO, who="Ada")
    assert len(store.jobs(search=search)) == found


def test_a_job_put_away_is_not_lost(store: Store) -> None:
    job = store.create(ONE, who="Ada").job
    store.archive(job)
    assert store.jobs() == ()
    assert [j.id for j in store.jobs(archived=True)] == [job]
    store.archive(job, archived=False)
    assert [j.id for j in store.jobs()] == [job]


def test_a_copy_is_a_job_of_its_own_with_its_files(store: Store) -> None:
    job = store.create(ONE, who="Ada", files={"prices.toml": b"prices = 1\n"}).job
    copy = store.duplicate(job, who="Ben").job
    store.save(copy, TWO, base=1, who="Ben")
    assert store.version(job).document == ONE
    assert store.file(copy, "prices.toml") == b"prices = 1\n"


@pytest.mark.parametrize(
    "name", ["../jobs.sqlite", "/etc/passwd", "C:\\x", "a/../../b", "", " ", "a\0b", "x" * 201]
)
def test_a_name_that_leads_out_is_no_file_name(store: Store, name: str) -> None:
    job = store.create(ONE, who="Ada").job
    with pytest.raises(InputError) as caught:
        store.put_file(job, name, b"x")
    assert caught.value.code == "file-name"
    assert store.files(job) == []


def test_what_is_not_there_is_said(store: Store) -> None:
    job = store.create(ONE, who="Ada").job
    for code, ask in (
        ("job-unknown", lambda: store.job("none")),
        ("job-unknown", lambda: store.save("none", ONE, base=1, who="Ada")),
        ("version-unknown", lambda: store.version(job, 2)),
        ("file-unknown", lambda: store.file(job, "rules.toml")),
        ("document-too-long", lambda: store.create("#" * 3_000_000, who="Ada")),
    ):
        with pytest.raises(InputError) as caught:
            ask()
        assert caught.value.code == code


def test_savers_at_the_same_moment_wait_for_each_other(store: Store) -> None:
    """Forty threads save on version 1: one gets it, all others are told; none fails for a locked file."""
    job = store.create(ONE, who="Ada").job
    outcomes: list[str] = []

    def save(i: int) -> None:
        try:
            store.save(job, f"{ONE}# {i}\n", base=1, who=str(i))
            outcomes.append("saved")
        except ConflictError:
            outcomes.append("told")

    threads = [threading.Thread(target=save, args=(i,)) for i in range(40)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["saved", *["told"] * 39]
    assert [v.number for v in store.versions(job)] == [2, 1]


def test_migrations_and_tables_agree(tmp_path: Path) -> None:
    engine = open_engine(str(tmp_path / "jobs.sqlite"))
    with engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, Base.metadata) == []
        assert context.get_current_revision() == NEWEST
    engine.dispose()


def test_a_store_opened_again_keeps_its_jobs(tmp_path: Path) -> None:
    path = str(tmp_path / "jobs.sqlite")
    first = open_store(path)
    job = first.create(ONE, who="Ada").job
    first.close()
    assert open_store(path).version(job).document == ONE


def test_a_file_that_is_no_store_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear neighbor, " * 400)
    with pytest.raises(InputError) as caught:
        open_store(str(path))
    assert caught.value.code == "store-unreadable"
    assert path.read_text() == "Dear neighbor, " * 400


def test_a_store_of_a_newer_roofwell_is_left_as_it_is(tmp_path: Path) -> None:
    path = str(tmp_path / "jobs.sqlite")
    open_store(path).close()
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    with pytest.raises(InputError) as caught:
        open_store(path)
    assert caught.value.code == "store-newer"


def test_a_full_disk_is_told_and_costs_nothing(store: Store, tmp_path: Path) -> None:
    """The file may grow no further (SQLite's own limit of pages stands for the disk)."""
    job = store.create(ONE, who="Ada").job
    engine = store._engine
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1")
        connection.rollback()
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.rollback()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")
        connection.rollback()
    with pytest.raises(InputError) as caught:
        for i in range(40):
            store.save(job, ONE + "#" * 5000 + str(i), base=store.job(job).head, who="Ada")
    assert caught.value.code == "store-full"
    kept = store.job(job).head
    assert len(store.versions(job)) == kept


def test_a_store_of_the_first_version_keeps_its_files(tmp_path: Path) -> None:
    """Made by the first migration alone, with a file in it: opened, it has the file, and the name can be replaced."""
    from alembic import command
    from alembic.config import Config
    from sqlalchemy import create_engine

    import roofwell.store as store_room

    path = str(tmp_path / "jobs.sqlite")
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(Path(store_room.__file__).parent / "migrations"))
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.exec_driver_sql(
            "INSERT INTO jobs VALUES ('j', 'Old', '', '2026-01-01 00:00:00', '2026-01-01 00:00:00', 0, 1)"
        )
        connection.exec_driver_sql(
            "INSERT INTO versions VALUES (1, 'j', 1, '2026-01-01 00:00:00', 'Ada', '', 'document = 1', NULL)"
        )
        connection.exec_driver_sql(
            "INSERT INTO files VALUES (1, 'j', 'rules.toml', 'aa', '2026-01-01 00:00:00', x'61620a')"
        )
    engine.dispose()
    opened = open_store(path)
    assert [(file.name, file.size) for file in opened.files("j")] == [("rules.toml", 3)]
    assert opened.file("j", "rules.toml") == b"ab\n"
    assert opened.put_file("j", "rules.toml", b"new\n", replace=True).fresh
    assert opened.file("j", "rules.toml") == b"new\n"
