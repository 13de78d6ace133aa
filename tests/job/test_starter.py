"""Starters: complete, explained, and good as they are and with every optional line in use."""

from __future__ import annotations

import json
import re
import tomllib
from datetime import date
from typing import Any

import jsonschema
import pytest

from roofwell.errors import InputError
from roofwell.job import json_schema, read_text
from roofwell.job.rules import load_rules
from roofwell.job.starter import kinds, starter, with_optional_lines
from roofwell.job.write import document_text


@pytest.mark.parametrize("kind", kinds())
def test_a_starter_has_no_problem(kind: str) -> None:
    """As it is."""
    reading = read_text(starter(kind))
    assert reading.problems == ()
    assert reading.job is not None and reading.job.job.invented is True


@pytest.mark.parametrize("kind", kinds())
def test_a_starter_with_its_optional_lines_has_no_problem(kind: str) -> None:
    """With the # taken away from every optional line."""
    text = with_optional_lines(starter(kind))
    assert text != starter(kind)
    assert read_text(text).problems == ()


@pytest.mark.parametrize("kind", kinds())
def test_each_optional_part_can_be_used_by_itself_or_with_the_others(kind: str) -> None:
    """Every line of a starter explains, is optional or is in use: none is a comment of a third sort."""
    for line in starter(kind).splitlines():
        assert re.match(r"$|# |#$|#[\w\[]|\s*[\w\[\]{}]|  # ", line), line


@pytest.mark.parametrize("kind", kinds())
def test_a_starter_is_enough_to_design_from(kind: str) -> None:
    """House, roof, gutter, downspouts, shots on the ground, soil test, water, rules, place of a well."""
    job = read_text(starter(kind)).job
    assert job is not None
    assert job.buildings["H1"].lowest_opening is not None
    assert len(job.downspouts) >= 3
    assert {d.gutter for d in job.downspouts.values()} == set(job.gutters)
    assert sum(bool(point.ground) for point in (*job.survey.readings, *job.survey.points)) >= 3
    assert job.soil.auger_tests or job.soil.pit_tests
    assert job.soil.seasonal_high_water_depth is not None
    assert job.wells["W1"].at is not None
    assert job.overflows["O1"].lip is not None and job.overflows["O1"].destination
    assert job.utilities.located is True
    rules, problems = load_rules(job.place.rules or "", None)
    assert rules is not None and rules.invented is True and problems == ()


@pytest.mark.parametrize("kind", kinds())
def test_each_table_of_a_starter_is_explained(kind: str) -> None:
    """A comment of at least a line stands before the first table of each kind."""
    lines = starter(kind).splitlines()
    seen: set[str] = set()
    for number, line in enumerate(lines):
        header = re.match(r"#?\[+(\w+)", line)
        if header and header[1] not in seen | {"job", "wyes", "basins", "runs", "gutters"}:
            assert lines[number - 1].startswith("# "), line
        if header:
            seen.add(header[1])


@pytest.mark.parametrize("kind", kinds())
@pytest.mark.parametrize("optional", [False, True])
def test_the_json_schema_accepts_a_starter(kind: str, optional: bool) -> None:
    """The schema is a valid one of draft 2020-12 (its metaschema is the outside check) and takes starters."""
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    text = with_optional_lines(starter(kind)) if optional else starter(kind)
    document: Any = json.loads(json.dumps(tomllib.loads(text), default=date.isoformat))
    jsonschema.Draft202012Validator(schema).validate(document)


@pytest.mark.parametrize(
    "text",
    ["", "document = 2", 'document = 1\nsoil = {texure = "clay"}', "document = 1\nwells.W1.bodies = 0"],
)
def test_the_json_schema_refuses_what_the_reader_refuses(text: str) -> None:
    """A missing version, a newer one, an unknown key, a number out of range."""
    assert read_text(text).problems
    assert not jsonschema.Draft202012Validator(json_schema()).is_valid(tomllib.loads(text))


def test_a_starter_that_is_not_there_is_refused() -> None:
    """The refusal names those that are."""
    with pytest.raises(InputError, match="house, metric-house") as caught:
        starter("castle")
    assert caught.value.code == "no-such-starter"


@pytest.mark.parametrize("kind", kinds())
def test_deleting_any_table_leaves_a_job(kind: str) -> None:
    """Every table but the version can go: a job stays, and only links to what is gone are problems."""
    document = tomllib.loads(starter(kind))
    for name in document:
        if name == "document":
            continue
        reading = read_text(document_text({key: value for key, value in document.items() if key != name}))
        assert reading.job is not None
        assert {problem.code for problem in reading.problems} <= {"no-such-part", "orphan"}
