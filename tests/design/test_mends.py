"""What would mend an answer: changes are ordinary edits and do what is told of them; stopped, bounded, honest."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any, get_args

import pytest

from roofwell import examples, tables
from roofwell.checks.register import REGISTER
from roofwell.design import Design, adopt, stand
from roofwell.design import mends as room
from roofwell.design.mend_tries import GROUPS, Change, Tries
from roofwell.design.mend_words import MendRow, Tried
from roofwell.design.mends import changed, mends
from roofwell.errors import InputError
from roofwell.job import Reading, read, read_file, read_text
from roofwell.job.model import Job
from roofwell.job.write import set_leaf
from roofwell.tables.mend_levers import Kind, levers

OLD = examples.path("old-system")


def _designed(reading: Reading) -> Design:
    assert reading.job is not None
    return stand(reading.job, folder=reading.folder, document=reading.document).design


def _all(reading: Reading, question: int, now: Design | None = None) -> tuple[list[MendRow], Tried]:
    *rows, last = mends(reading, now or _designed(reading), question, _designed)
    assert isinstance(last, Tried)
    assert all(isinstance(row, MendRow) for row in rows)
    return [row for row in rows if isinstance(row, MendRow)], last


@pytest.fixture(scope="module")
def old() -> tuple[Reading, Design]:
    reading = read_file(OLD)
    return reading, _designed(reading)


def _edited(text: str, row: MendRow) -> str:
    for path, value in row.edits:
        text = set_leaf(text, path, value)
    return text


def test_a_mend_does_what_is_told_when_its_edits_are_made_in_the_file(old: tuple[Reading, Design]) -> None:
    """The grate of the old system lets too little out; the same edits in the file's own text give the verdict told, and
    the new part is paid for."""
    reading, now = old
    assert now.answer(6).verdict == "fails"
    rows, last = _all(reading, 6, now)
    row = next(row for row in rows if row.whole)
    assert row.what == "A new O1, its diameter designed"
    assert last.words == "2 changes were tried: one turns it good or close."
    text = _edited(OLD.read_text("utf-8"), row)
    then = _designed(read_text(text, folder=OLD.parent))
    assert then.answer(6).verdict == row.verdict == "good"
    assert row.turns == "6 Where does it go when full? turns from fails to good."
    assert now.takeoff.price == 0 and then.takeoff.price is not None
    assert row.takes.startswith(f"${then.takeoff.price:,.0f} more")
    assert tomllib.loads(text)["overflows"]["O1"]["state"] == "proposed"


def test_a_change_that_only_a_design_refuses_is_passed_over(old: tuple[Reading, Design]) -> None:
    """A link between wells that lies under the bottom that a change designs, for one: the others are tried all the same."""
    reading, now = old
    asked: list[Reading] = []

    def first_refused(changed: Reading) -> Design:
        asked.append(changed)
        if len(asked) == 1:
            raise InputError("wells.W2.link_invert: the link lies too low", code="link-invert")
        return _designed(changed)

    *rows, last = mends(reading, now, 6, first_refused)
    assert len(asked) == 2 and len(rows) == 1
    assert isinstance(last, Tried) and last.words.startswith("2 changes were tried")


def test_edits_are_the_same_in_a_document_and_in_its_text(old: tuple[Reading, Design]) -> None:
    """One change of each kind that the old system offers: what is tried is what taking it up makes of the file."""
    reading, now = old
    text, tries = OLD.read_text("utf-8"), Tries(reading, now)
    first: dict[str, Change] = {}
    for finding in (f for answer in now.answers for f in answer.findings if f.verdict in room.NOT_GOOD):
        for change in tries.of(finding):
            if len(change.edits) < 20:
                first.setdefault(change.what.partition(" ")[0] + change.edits[-1][0], change)
    assert len(first) > 12
    for change in first.values():
        found = changed(reading, change.edits)
        assert found is not None
        after = text
        for path, value in change.edits:
            after = set_leaf(after, path, value)
        assert tomllib.loads(after) == found.document, change.what
        assert found.document != reading.document


def test_small_changes_that_mend_one_finding_each_are_tried_together(old: tuple[Reading, Design]) -> None:
    """The old basin keeps no leaves, holds too little, lets mosquitoes in, and the well has no observation pipe: no one
    change mends all four, the four together do."""
    reading, now = old
    rows, last = _all(reading, 4, now)
    together = rows[-1]
    assert together.what.startswith("Together: an elbow turned down before the outlet of B1")
    assert together.whole and together.verdict == "close"
    assert not any(row.whole for row in rows[:-1])
    assert len(together.met) > max(len(row.met) for row in rows[:-1])
    then = changed(reading, together.edits)
    assert then is not None
    assert not [f.code for f in _designed(then).answer(4).findings if f.verdict == "fails"]
    assert "W1" in together.takes and "not in the take-off" in together.takes  # its observation pipe
    assert last.words.endswith("tried: one turns it good or close and five mend part of it.")


def test_the_next_trade_size_mends_a_pipe_that_is_too_small() -> None:
    """97.7 gpm in a run at 1/4 in/ft: the plumbing code's table of horizontal storm drains gives a 3 in drain 4,640 sq ft at
    1 in/h (48 gpm, from memory) and a 4 in drain 10,600 sq ft (110 gpm, from memory): 3 in is too small, 4 in carries it.
    Source: Uniform Plumbing Code, storm drainage table; row ``upc-d-drain`` of sources.csv."""
    first = read_file(examples.path("bungalow"))
    design = _designed(first)
    document = adopt(first.document, design)
    gpm = 0.003785411784 / 60
    (flow,) = (flow for flow in design.behaviour.runs if flow.id == "P7")
    assert 4640 * 144 / 231 / 60 < flow.peak_m3_s / gpm < 10600 * 144 / 231 / 60
    document["runs"]["P7"] |= {"nominal": "3 in", "pipe": "schedule-40", "downstream_invert": "96.67 ft"}
    reading = read(document, folder=first.folder)
    assert not reading.problems
    now = _designed(reading)
    assert "pipe-capacity" in {f.code for f in now.answer(3).findings if f.verdict == "fails"}
    rows, _ = _all(reading, 3, now)
    mine = [row for row in rows if row.what == "P7 4 in pipe instead of 3 in"]
    assert mine, [row.what for row in rows]
    assert mine[0].edits == (("runs.P7.nominal", "4 in"),)
    assert mine[0].whole and mine[0].verdict in ("good", "close")


def test_a_given_well_that_is_too_small_is_mended_by_a_second_or_by_leaving_its_size_open(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(room, "MOST_TRIES", 4)
    text = examples.path("bungalow").read_text("utf-8")
    folder = examples.path("bungalow").parent
    for path, value in (("bodies", 2), ("body_diameter", "30 in"), ("body_height", "48 in")):
        text = set_leaf(text, f"wells.W1.{path}", value)
    text = set_leaf(set_leaf(text, "wells.W1.pit_length", "8 ft"), "wells.W1.pit_width", "5 ft")
    reading = read_text(text, folder=folder)
    assert not reading.problems
    now = _designed(reading)
    assert now.answer(5).verdict == "fails"
    rows, last = _all(reading, 5, now)
    whole = {row.what for row in rows if row.whole}
    second = "A second well W2, 15.0 ft further north, that takes what W1 lets out"
    assert {"W1 with its sizes left open, to be designed", second} <= whole
    row = next(row for row in rows if row.what == second)
    # where the second well lets go nobody has said, and that is told
    assert any(
        words.startswith("6 Where does it go when full? turns from good to unknown") for words in row.moves
    )
    assert last.words.endswith("good or close." if len(whole) == len(rows) else "part of it.")
    for row in rows:
        then = _designed(read_text(_edited(text, row), folder=folder))
        assert then.answer(5).verdict == row.verdict, row.what
        assert (then.answer(5).verdict in ("good", "close")) == row.whole
        others = [
            (one.verdict, two.verdict)
            for one, two in zip(now.answers, then.answers, strict=True)
            if one.question != 5 and one.verdict != two.verdict
        ]
        assert len(row.moves) >= len(others)


def test_what_nobody_has_measured_no_change_mends() -> None:
    """A job that is unknown tells what to measure, and tries nothing that cannot help."""
    reading = read_file(examples.path("nothing-below-ground"))
    now = _designed(reading)
    assert now.answer(5).verdict == "unknown"
    tried: list[str] = []
    *rows, last = mends(reading, now, 5, _designed, progress=tried.append)
    assert rows == [] and tried == []
    assert isinstance(last, Tried)
    assert last.words == "Roofwell knows no single change to try for this."
    assert last.measures[0].startswith("Infiltration rate of the soil at the well: bore a hole")
    # where a change takes the need for the measurement away, it mends: weep holes leave no water to freeze
    rows_3, last_3 = _all(reading, 3, now)
    assert [row.what for row in rows_3 if row.whole] == ["Four weep holes in B1"]
    assert last_3.measures == (
        "Depth of frost: ask the building office for the frost line of the place: soil.frost_depth",
    )


def test_a_good_answer_asks_for_nothing(old: tuple[Reading, Design]) -> None:
    reading, now = old
    assert now.answer(1).verdict == "good"
    assert list(mends(reading, now, 1, _designed)) == [Tried(1, "Nothing to mend.")]


def test_it_stops_where_it_is_stopped_and_tries_no_more_than_it_may(
    old: tuple[Reading, Design], monkeypatch: pytest.MonkeyPatch
) -> None:
    reading, now = old
    designed: list[Reading] = []

    def count(found: Reading) -> Design:
        designed.append(found)
        return now

    def third(words: str) -> None:
        if words.startswith("change 3 of"):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(mends(reading, now, 3, count, progress=third))
    assert len(designed) == 2
    designed.clear()
    monkeypatch.setattr(room, "MOST_TRIES", 5)
    *rows, last = mends(reading, now, 3, count)
    assert len(designed) == 5
    assert rows == []  # the design stayed as it was: nothing is told to mend
    assert last == Tried(3, "5 changes were tried; none mends it, nor part of it.")


def test_a_change_that_would_be_put_right_is_not_designed(
    old: tuple[Reading, Design], monkeypatch: pytest.MonkeyPatch
) -> None:
    reading, now = old

    def loose(self: Tries, finding: Any) -> Iterator[Change]:
        yield Change("P1 to nowhere", (("runs.P1.to", "X9"),))
        yield Change("a leaf in what is no table", (("document.x.y", 1),))

    monkeypatch.setattr(Tries, "of", loose)
    *rows, last = mends(reading, now, 2, _never)
    assert rows == []
    assert isinstance(last, Tried)


def _never(reading: Reading) -> Design:
    raise AssertionError("designed")


def _fields(table: str) -> set[str]:
    schema = Job.model_json_schema(by_alias=True)
    of = schema["properties"][table]["additionalProperties"]["$ref"].rpartition("/")[2]
    return set(schema["$defs"][of]["properties"])


@pytest.mark.parametrize(
    "row", tables.rows("mend_levers"), ids=lambda row: f"{row['code']} {row['lever']} {row['leaf']}"
)
def test_every_lever_is_of_a_check_and_changes_leaves_that_there_are(row: dict[str, str]) -> None:
    assert row["code"] in REGISTER
    assert row["lever"] in get_args(Kind)
    assert tables.source(row["source"])
    assert bool(row["us"]) == (row["lever"] in ("set", "step", "larger-pit", "move", "second-well"))
    if row["lever"] in ("set", "open", "open-all", "step"):
        names = [leaf.partition("=")[0].strip() for leaf in row["leaf"].split(";")]
        leaves = {leaf for name in names for leaf in GROUPS.get((row["of"], name), ((name,), ""))[0]}
        assert leaves <= _fields(row["of"])
    assert ("{part}" in row["what"]) == (row["lever"] == "set")


def test_levers_of_a_check_come_in_the_order_of_their_rows() -> None:
    assert [lever.kind for lever in levers("storm-held")][:3] == ["one-more", "larger-pit", "open"]
    assert levers("cause-of-water") == ()


@pytest.mark.parametrize("name", examples.names())
def test_no_example_breaks_it(name: str) -> None:
    """Every change offered for every finding of every example can be read; most bring nothing to put right."""
    reading = read_file(examples.path(name))
    now = _designed(reading)
    tries = Tries(reading, now)
    for finding in (f for answer in now.answers for f in answer.findings):
        for change in tries.of(finding):
            found = changed(reading, change.edits)
            assert found is not None and found.job is not None, change.what
            assert not found.problems, (change.what, found.problems)
