"""Words on a terminal while all unknowns are drawn, none elsewhere, and an interrupt half-way."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from types import SimpleNamespace
from typing import Any

import pytest

from roofwell.cli import design_command, main
from roofwell.system import joint_chance


@pytest.mark.parametrize("terminal", [True, False])
def test_the_draw_tells_how_far_it_is_and_stops_without_a_traceback(
    terminal: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ctrl-C after forty samples of five hundred: exit code 130, one word, nothing left running."""
    said: list[str] = []

    @contextmanager
    def status(words: str) -> Iterator[Any]:
        said.append(words)
        yield SimpleNamespace(update=said.append)

    finished = joint_chance._finished

    def interrupted(tasks: Sequence[Callable[[], Any]], *rest: Any, **how: Any) -> Iterator[Any]:
        for number, part in enumerate(finished(tasks, *rest, **how)):
            if number == 2:
                raise KeyboardInterrupt
            yield part

    monkeypatch.setattr(joint_chance, "_finished", interrupted)
    monkeypatch.setattr(
        design_command, "Console", lambda **_: SimpleNamespace(is_terminal=terminal, status=status)
    )
    assert main(["design", "bungalow", "--chance", "--no-papers"]) == 130
    captured = capsys.readouterr()
    assert captured.err.strip() == "roofwell: stopped"
    assert captured.out == ""
    drawn = [words for words in said if "samples through the record" in words]
    assert [words.split(":")[1].split(" samples")[0].strip() for words in drawn] == (
        ["20 of 500", "40 of 500"] if terminal else []
    )
