"""The line of every key, in every way in which TOML lets it be written."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from roofwell.job.lines import lines_of, read_path, write_path

KEY_PATHS = Path(__file__).parents[1] / "data" / "key_paths.json"

TEXT = '''\
document = 1
"quoted key".dotted = [
  1,
  [2,
   3],  # a comment
]
[soil]
texture = """loam
and more"""
[[soil.auger_tests]]
id = "A1"
readings = [
  { time = "5 min" },
  { time = "6 min", nested = { deep = 1 } }]
[[soil.auger_tests]]
id = "A2"
[[soil.auger_tests.readings]]
time = "7 min"
[runs."P 3"]
from.x = 3
'''


def test_lines_of_every_form() -> None:
    """Counted by hand in the text above."""
    lines = lines_of(TEXT)
    expected = {
        ("document",): 1,
        ("quoted key", "dotted"): 2,
        ("quoted key", "dotted", 0): 3,
        ("quoted key", "dotted", 1): 4,
        ("quoted key", "dotted", 1, 1): 5,
        ("soil",): 7,
        ("soil", "texture"): 8,
        ("soil", "auger_tests"): 10,
        ("soil", "auger_tests", 0): 10,
        ("soil", "auger_tests", 0, "readings", 0, "time"): 13,
        ("soil", "auger_tests", 0, "readings", 1, "nested", "deep"): 14,
        ("soil", "auger_tests", 1): 15,
        ("soil", "auger_tests", 1, "id"): 16,
        ("soil", "auger_tests", 1, "readings", 0): 17,
        ("soil", "auger_tests", 1, "readings", 0, "time"): 18,
        ("runs",): 19,
        ("runs", "P 3"): 19,
        ("runs", "P 3", "from", "x"): 20,
    }
    assert {path: lines.at(path) for path in expected} == expected


def test_what_is_not_there_stands_at_the_table_round_it() -> None:
    """A missing key takes the line of its table; in an empty file, line 1."""
    assert lines_of(TEXT).at(("soil", "auger_tests", 1, "hole_depth")) == 15
    assert lines_of("").at(("document",)) == 1


@pytest.mark.parametrize(
    "case", json.loads(KEY_PATHS.read_text(encoding="utf-8")), ids=lambda case: case["text"]
)
def test_key_paths_as_the_page_reads_them(case: dict[str, Any]) -> None:
    """The cases that the page's own reader of key paths is held against too."""
    assert list(read_path(case["text"])) == case["steps"]
    assert write_path(tuple(case["steps"])) == case["text"]
