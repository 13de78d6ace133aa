"""An overrule that sets nothing aside is told, with the reason; one that does is not."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from roofwell.checks import REGISTER
from roofwell.checks.overrules import Notice
from roofwell.checks.register import never_overruled
from roofwell.cli import main
from roofwell.design import Design
from roofwell.job import read_text
from roofwell.job.starter import kinds, starter, with_optional_lines
from roofwell.job.write import document_text
from roofwell.papers.results import results

Document = dict[str, Any]
WHO = {"reason": "the owner wants it so", "who": "the contractor (invented)", "date": date(2026, 5, 2)}


@pytest.fixture
def notices(house: Document, design_of: Callable[..., Design]) -> Callable[..., tuple[Notice, ...]]:
    """Design the small house, whose own wish to empty in an hour fails, with one overrule."""

    def made(
        check: str, subject: str | None = None, *, targets: Document | None = None
    ) -> tuple[Notice, ...]:
        house["targets"] = {"hours_to_empty": "1 h"} if targets is None else targets
        house["overrules"] = [{"check": check, **WHO} | ({"subject": subject} if subject else {})]
        return design_of(house).notices

    return made


@pytest.mark.parametrize("subject", ["W1", None])
def test_an_overrule_that_sets_a_finding_aside_is_no_notice(
    subject: str | None, notices: Callable[..., tuple[Notice, ...]]
) -> None:
    assert notices("well-drain-down", subject) == ()


@pytest.mark.parametrize(
    ("check", "subject", "read", "words"),
    [
        ("setback", None, "setback", "law and safety"),
        ("utilities-located", None, "utilities-located", "law and safety"),
        ("water-below-opening", None, "water-below-opening", "water above an opening"),
        ("well-drain-down", "W2", "well-drain-down W2", "does not judge W2"),
        ("well-drain-down", "W2", "well-drain-down W2", "here it judges W1"),
        ("within-budget", None, "within-budget", "nothing in this design"),
    ],
)
def test_an_overrule_without_effect_says_why(
    check: str, subject: str | None, read: str, words: str, notices: Callable[..., tuple[Notice, ...]]
) -> None:
    (notice,) = notices(check, subject)
    assert (notice.path, notice.read) == ("overrules[0]", read)
    assert words in notice.message


def test_a_limit_of_the_office_is_not_set_aside_and_that_is_said(
    notices: Callable[..., tuple[Notice, ...]],
) -> None:
    (notice,) = notices("well-drain-down", targets={})
    assert "only the office" in notice.message


def test_notices_reach_the_terminal_and_the_results(
    house: Document, design_of: Callable[..., Design], data_folder: Path, tmp_path: Path, capsys: Any
) -> None:
    house["overrules"] = [{"check": "setback", "subject": "W1", **WHO}]
    made = results(design_of(house))["notices"]
    assert [(n["path"], n["read"]) for n in made] == [("overrules[0]", "setback W1")]
    for name in ("small-house-rules.toml",):
        (tmp_path / name).write_bytes((data_folder / name).read_bytes())
    (tmp_path / "job.toml").write_text(document_text(house), encoding="utf-8")
    main(["design", str(tmp_path / "job.toml"), "--no-papers"])
    said = " ".join(capsys.readouterr().out.split())
    assert "Without effect: overrules[0], setback W1: law and safety" in said


@pytest.mark.parametrize("kind", kinds())
def test_the_overrule_of_a_starter_is_of_a_check_that_may_be_set_aside(kind: str) -> None:
    job = read_text(with_optional_lines(starter(kind))).job
    assert job is not None
    for overrule in job.overrules:
        assert overrule.check in REGISTER
        assert not never_overruled(overrule.check)
