"""Rule files and the price book: what they hold, what they refuse, and that they say what is invented."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from roofwell import tables
from roofwell.job.model import Settings, Targets, Well
from roofwell.job.prices import PriceItem, load_prices, shipped_prices
from roofwell.job.problems import bare, leaves
from roofwell.job.rules import ASK, STANDS_FOR, RuleFile, WellRules, load_rules, rule_paths, shipped

RULES = """rules = 1
office = "Office (invented)"
dated = 2026-01-01
[setbacks]
building = "10 ft"
lot_line = "ask the office"
[well]
safety_factor = 3
hours_to_empty = "72 h"
"""


def _write(folder: Path, text: str) -> str:
    (folder / "own.toml").write_text(text, encoding="utf-8")
    return "own.toml"


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_office_is_invented_and_says_so(name: str) -> None:
    """No shipped figure holds anywhere, and each file reads without a problem."""
    rules, problems = load_rules(name, None)
    assert problems == ()
    assert rules is not None and rules.invented is True and "(invented)" in rules.office


def test_an_own_rule_file_is_read(tmp_path: Path) -> None:
    """A quantity, a rule to ask for, and one that is left out."""
    rules, problems = load_rules(_write(tmp_path, RULES), tmp_path)
    assert problems == ()
    assert rules is not None
    building = rules.setback("building")
    assert building is not None and building != ASK and building.text == "10 ft"
    assert rules.setback("lot line") == ASK
    assert rules.setback("septic tank") is None
    assert rules.to_ask() == ("setbacks.lot_line",)
    assert rules.safety_factor == 3.0
    assert {name: value.text for name, value in rules.values().items()} == {"hours_to_empty": "72 h"}


@pytest.mark.parametrize(
    ("line", "path", "read", "right"),
    [
        ('building = "10 ft"', "setbacks.building", '"10 lb"', "a length is needed"),
        ('building = "10 ft"', "setbacks.building", '"ask"', "a length is needed"),
        ('building = "10 ft"', "setbacks.building", "10", "bare number"),
        ('building = "10 ft"', "setbacks.bilding", '"10 ft"', 'did you mean "building"'),
    ],
)
def test_a_bad_rule_is_a_problem_of_the_file(
    line: str, path: str, read: str, right: str, tmp_path: Path
) -> None:
    """With the file's name before the key path; the other rules stand."""
    bad = line.replace("building", path.split(".")[1]).replace('"10 ft"', read)
    rules, problems = load_rules(_write(tmp_path, RULES.replace(line, bad)), tmp_path)
    assert [(p.path, p.line, p.read) for p in problems] == [(f"own.toml: {path}", 5, read)]
    assert right in problems[0].message
    assert rules is not None and rules.safety_factor == 3.0 and rules.setbacks.building is None


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "rules-version"),
        ("rules = 2", "rules-version"),
        ("rules = true", "rules-version"),
        ("rules = 1", "missing"),
        ("rules = 1\n[", "not-toml"),
    ],
)
def test_what_is_no_rule_file_gives_no_rules(text: str, code: str, tmp_path: Path) -> None:
    """No version, another one, no office: nothing is taken from it."""
    rules, problems = load_rules(_write(tmp_path, text), tmp_path)
    assert rules is None
    assert {p.code for p in problems} == {code}


def test_a_rule_file_is_looked_for_beside_the_job_only(tmp_path: Path) -> None:
    """Not there, outside the folder, or no folder known."""
    assert load_rules("own.toml", tmp_path)[1][0].code == "file-missing"
    assert load_rules("../own.toml", tmp_path)[1][0].code == "file-outside"
    assert load_rules("own.toml", None)[1][0].code == "file-missing"


def test_rules_that_stand_for_leaves_of_the_job_name_leaves_of_the_job() -> None:
    """Each name is a target or a setting, and each path is a rule."""
    assert set(STANDS_FOR) <= set(leaves(Targets)) | set(leaves(Settings))
    assert set(STANDS_FOR.values()) <= set(rule_paths())


def test_soakage_has_the_same_words_in_a_rule_as_in_a_well() -> None:
    """One word for one thing."""
    rule = get_args(bare(WellRules.model_fields["soakage"].annotation))
    assert set(rule) == {*get_args(bare(Well.model_fields["soakage"].annotation)), ASK}


def test_every_rule_can_be_asked_for() -> None:
    """ "ask the office" is a value of every rule."""
    document: dict[str, object] = {"rules": 1, "office": "x", "dated": "2026-01-01"}
    for path in rule_paths():
        section, _, name = path.partition(".")
        document.setdefault(section, {})[name] = ASK  # type: ignore[index]
    assert RuleFile.model_validate(document).to_ask() == rule_paths()


PRICES = """prices = 1
dated = 2026-01-01
currency = "USD"
[items]
labor = { h = 50 }
"stone:57" = { ton = "$40.50", "cu yd" = 55.25, what = "washed stone" }
"""


def test_a_price_is_for_its_unit_and_never_converted(tmp_path: Path) -> None:
    """Price of a ton and of a yard as typed; no price where there is none."""
    book, problems = load_prices(_write(tmp_path, PRICES), tmp_path)
    assert problems == ()
    assert book is not None and not book.invented
    assert book.price("stone:57", "ton") == 40.5
    assert book.price("stone:57", "cu yd") == 55.25
    assert book.price("stone:57", "m³") is None
    assert book.price("stone:57", "what") is None
    assert book.price("labor", "h") == 50
    assert book.price("champagne", "each") is None


@pytest.mark.parametrize(
    ("old", "new", "path", "right"),
    [
        ("h = 50", "h = -50", "items.labor.h", "below zero"),
        ("h = 50", 'h = "fifty"', "items.labor.h", "an amount"),
        ("h = 50", "h = nan", "items.labor.h", ""),
        ("h = 50", "hour = 50", "items.labor.hour", "known here"),
        ("h = 50", "tons = 50", "items.labor.tons", 'did you mean "ton"'),
    ],
)
def test_a_bad_price_is_a_problem_and_no_price(
    old: str, new: str, path: str, right: str, tmp_path: Path
) -> None:
    """The other prices stand."""
    book, problems = load_prices(_write(tmp_path, PRICES.replace(old, new)), tmp_path)
    assert [(p.path, p.line) for p in problems] == [(f"own.toml: {path}", 5)]
    assert right in problems[0].message
    assert book is not None
    assert book.price("labor", "h") is None
    assert book.price("stone:57", "ton") == 40.5


def test_the_shipped_prices_are_invented_and_say_so() -> None:
    """The book, its name, and every unit in it."""
    book = shipped_prices()
    assert book.invented is True and "nvented" in (book.name or "")
    units = set(leaves(PriceItem)) - {"what", "unit", "note"}
    for key, item in book.items.items():
        assert any(item.price(unit) for unit in units), key


def test_a_price_book_outside_or_not_there_is_a_problem(tmp_path: Path) -> None:
    """As for every file that a job names."""
    assert load_prices("../own.toml", tmp_path)[1][0].code == "file-outside"
    assert load_prices("own.toml", tmp_path)[1][0].code == "file-missing"


def test_the_shipped_prices_cover_every_trade_size() -> None:
    """Pipe, fittings, basins, bodies and stone of the tables, in the units of both kinds of order."""
    book = shipped_prices()
    sizes = {row["nominal"].replace(" ", "") for row in tables.rows("pipe_sizes")}
    for row in tables.rows("pipe_sizes"):
        assert book.price(f"pipe:{row['key']}:{row['nominal'].replace(' ', '')}", "stick")
    for row in tables.rows("fitting_ends"):
        assert all(book.price(f"fitting:{row['kind']}:{size}", "each") for size in sizes), row["kind"]
    for row in tables.rows("basin_sizes"):
        assert book.price(f"basin:{row['key']}", "each"), row["key"]
    for row in tables.rows("body_sizes"):
        assert book.price(f"body:{row['key']}", "each"), row["key"]
    for row in tables.rows("stone_gradation"):
        assert book.price(f"stone:{row['key']}", "ton") and book.price(f"stone:{row['key']}", "t"), row["key"]
