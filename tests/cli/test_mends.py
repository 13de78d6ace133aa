"""``--mends``: what single change would mend each answer that is not good, in words with its edits."""

from __future__ import annotations

import pytest

from roofwell.cli import main


def test_each_answer_that_is_not_good_is_told_what_would_mend_it(capsys: pytest.CaptureFixture[str]) -> None:
    """The sloping lot: a guard that lets a cloudburst past is close; without it the answer is good. Answers that are good
    are not asked, and the exit code is that of the answers as they are."""
    assert main(["design", "sloping-lot", "--mends", "--no-papers"]) == 0
    said = capsys.readouterr().out
    _, _, told = said.partition("What would mend 3 Does it carry? (close)")
    own, _, rest = told.partition("What would mend")
    assert "- No guard on G2. 3 Does it carry? turns from close to good." in own
    assert "gutters.G2: guard = false" in own
    assert "Work on what stands" in own or "Nothing more to dig or to pay." in own
    assert "changes were tried: one turns it good." in own
    assert rest
    assert "What would mend 1" not in said
    assert "What would mend 8" not in said


def test_mends_are_words_not_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["design", "sloping-lot", "--mends", "--json", "--no-papers"]) == 2
    assert "--mends is told in words" in capsys.readouterr().err
