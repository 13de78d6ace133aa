"""Every check has its heading, its source and its limit; every row of limits and assumptions has a reader."""

from __future__ import annotations

import ast
import importlib.util
import re
from functools import cache
from pathlib import Path

import pytest

import roofwell
from roofwell import tables
from roofwell.checks import MODULES, QUESTIONS, REGISTER
from roofwell.checks.answers import HEADLINE
from roofwell.checks.register import value_of

ROOT = Path(__file__).parents[2]
CODE = Path(roofwell.__file__).parent

# Rows that no code reads yet, each with the reason why it stands there all the same.
NOT_READ = {
    "roof-pitch": "slanting rain is not counted; the row is for the rule that will",
    "manning-n-smooth-aged": "for a second look with an aged pipe",
    "manning-n-smooth-lined": "for a kind of pipe that the table of sizes lacks",
    "manning-n-corrugated-rough": "for a second look with a rough pipe",
    "outlet-over-deposit": "told by the published sump rules beside the capture; the check goes by the share of the sump",
    "spoil-angle": "for the place of the spoil pile",
    "soil-density-loose": "for hauling by weight",
    "soil-density-wet": "for hauling by weight",
    "rain-coarse-reading": "for the screening of a record",
    "rain-coarse-share": "for the screening of a record",
    "least-cover-daylight": "a run that comes out to daylight is not judged by cover near its end",
    "parallel-pipes": "no trench holds two pipes yet",
}


def _page_tool():
    spec = importlib.util.spec_from_file_location("make_checks_page", ROOT / "tools" / "make_checks_page.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def _trees() -> tuple[ast.AST, ...]:
    return tuple(ast.parse(path.read_text(encoding="utf-8")) for path in sorted(CODE.rglob("*.py")))


def _texts(node: ast.AST) -> set[str]:
    return {n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)}


def _asked(tree: ast.AST, name: str) -> set[str]:
    """Keys written out in calls of ``name(...)`` or ``x.name(...)``."""
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and node.args:
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if called == name:
                found |= _texts(node.args[0])
    return found


def _is_key(text: str) -> bool:
    return re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", text) is not None


def test_the_table_of_codes_is_the_register() -> None:
    written = tables.data_file("check_codes.csv").read_text(encoding="utf-8")
    assert written == _page_tool().codes()
    assert [row["code"] for row in tables.rows("check_codes")] == sorted(REGISTER)


def test_the_page_is_the_register() -> None:
    tool = _page_tool()
    assert (ROOT / "docs" / "checks.md").read_text(encoding="utf-8") == tool.page(), (
        "docs/checks.md is old: run tools/make_checks_page.py"
    )


def test_every_check_has_its_heading_under_its_question() -> None:
    page = (ROOT / "docs" / "checks.md").read_text(encoding="utf-8")
    parts = re.split(r"(?m)^## (\d)\. ", page)
    under = {int(number): text for number, text in zip(parts[1::2], parts[2::2], strict=True)}
    assert set(under) == set(QUESTIONS) == set(range(1, 10))
    for check in REGISTER.values():
        assert re.search(rf"(?m)^### {re.escape(check.code)}$", under[check.question]), check.code
    assert page.count("\n### ") == len(REGISTER)


def test_codes_are_stable_words_and_a_check_says_what_it_is() -> None:
    for check in REGISTER.values():
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", check.code)
        assert check.about.endswith(".")
        assert check.question in QUESTIONS
        assert check.function.__doc__


def test_no_number_stands_alone() -> None:
    """A number says by itself neither what it measures nor where: a few words beside it do, the part among them."""
    for check in REGISTER.values():
        assert check.value and len(check.value) <= 80 and check.value.count("{}") <= 1, check.code
        assert not check.value.endswith(".") and check.value[0] in "{abcdefghijklmnopqrstuvwxyz", check.code
    assert value_of("pipe-cover", "P3") == "soil over P3"
    assert value_of("setback", "W1 to building") == "W1 to building"
    assert (value_of("levels-fit", "levels"), value_of("levels-fit", "P1")) == (
        "pipe levels",
        "pipe levels, P1",
    )


def test_every_module_of_checks_holds_one_question() -> None:
    for module in MODULES:
        questions = {c.question for c in REGISTER.values() if c.function.__module__ == module.__name__}
        assert len(questions) == 1, module.__name__


def test_headlines_name_checks_of_their_question() -> None:
    for number, codes in HEADLINE.items():
        assert all(REGISTER[code].question == number for code in codes)


def test_every_need_is_a_measurement_that_can_be_taken() -> None:
    leaves = {row["leaf"]: row for row in tables.rows("measurements")}
    for check in REGISTER.values():
        for leaf in check.needs:
            assert leaf in leaves, (check.code, leaf)
    assert all(row["what"] and row["how"] for row in leaves.values())


def test_every_leaf_that_code_calls_missing_is_a_measurement() -> None:
    leaves = {row["leaf"] for row in tables.rows("measurements")}
    asked = set().union(*(_asked(tree, "lack") for tree in _trees()))
    assert asked
    assert asked <= leaves


WITH_FIGURES = [
    name.removesuffix(".csv")
    for name in tables.table_names()
    if name.endswith(".csv") and name not in ("sources.csv", "measurements.csv")
]


@pytest.mark.parametrize("table", WITH_FIGURES)
def test_every_row_of_every_table_names_a_source_that_exists(table: str) -> None:
    for row in tables.rows(table):
        named = {key: value for key, value in row.items() if key == "source" or key.endswith("_source")}
        assert named.get("source"), (table, row)
        for value in named.values():
            assert not value or value in tables.sources(), (table, value)


def test_every_source_says_how_it_was_seen() -> None:
    seen = {"seen", "second-hand", "from memory", "common practice", "derived"}
    assert {source.seen for source in tables.sources().values()} <= seen
    keys = [row["key"] for row in tables.rows("sources")]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("table", ["assumptions", "limits"])
def test_keys_are_unique(table: str) -> None:
    keys = [row["key"] for row in tables.rows(table)]
    assert len(keys) == len(set(keys))


def test_every_assumption_and_limit_that_code_asks_for_exists() -> None:
    trees = _trees()
    assumed = {a.key for a in tables.all_assumptions()}
    limits = {limit.key for limit in tables.all_limits()}
    asked = {key for tree in trees for key in _asked(tree, "assumption") if _is_key(key)}
    assert len(asked) > 20
    assert asked <= assumed
    assert {row["manning_n"] for row in tables.rows("pipe_sizes")} <= assumed
    asked = {key for tree in trees for key in _asked(tree, "limit") if _is_key(key)}
    assert len(asked) > 15
    assert asked <= limits


def test_every_assumption_and_limit_is_read_or_its_reason_is_given() -> None:
    used = set().union(*(_texts(tree) for tree in _trees()))
    used |= {row["manning_n"] for row in tables.rows("pipe_sizes")}
    rows = {a.key for a in tables.all_assumptions()} | {limit.key for limit in tables.all_limits()}
    assert rows - used == set(NOT_READ), (
        "list a new row here with its reason, or take a read one off the list"
    )
    assert all(NOT_READ.values())


def test_every_assumption_says_how_to_measure_it() -> None:
    assert all(a.what and a.how_to_measure for a in tables.all_assumptions())
