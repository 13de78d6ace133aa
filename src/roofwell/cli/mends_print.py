"""What would mend each answer that is not good, on the terminal, one change at a time as it is found."""

from __future__ import annotations

import json

from rich.console import Console
from rich.markup import escape

from roofwell.design import Design, stand
from roofwell.design.mend_words import MendRow
from roofwell.design.mends import NOT_GOOD, mends
from roofwell.job import Reading


def print_mends(console: Console, reading: Reading, result: Design) -> None:
    """Try single changes for each answer that fails, is unknown or close, and print those that mend."""
    errors = Console(stderr=True)
    for answer in result.answers:
        if answer.verdict not in NOT_GOOD:
            continue
        console.print(f"\n[bold]What would mend {answer.question} {answer.title}[/] ({answer.verdict})")
        with errors.status("Trying changes") as status:  # says nothing where nobody watches
            told = mends(
                reading,
                result,
                answer.question,
                _again,
                progress=lambda words: status.update(f"Trying {escape(words)}") if words else None,
            )
            for row in told:
                if isinstance(row, MendRow):
                    _print_row(console, row)
                else:
                    console.print(f"  {escape(row.words)}")
                    for words in row.measures:
                        console.print(f"  Only to be measured: {escape(words)}.")


def _again(changed: Reading) -> Design | None:
    if changed.job is None:
        return None
    return stand(changed.job, folder=changed.folder, document=changed.document).design


def _print_row(console: Console, row: MendRow) -> None:
    mark = "" if row.whole else " (in part)"
    console.print(f"  - [bold]{escape(row.what)}[/]{mark}. {escape(row.turns)}")
    for words in (*row.met, *row.moves, row.takes):
        console.print(f"    {escape(words)}")
    for line in _edits(row):
        console.print(f"      {escape(line)}", style="dim")


def _edits(row: MendRow) -> list[str]:
    """The edits as one makes them in a file, a line for each part: ``wells.W1: bodies = 2, without bottom``."""
    parts: dict[str, list[str]] = {}
    for path, value in row.edits:
        part, _, leaf = path.rpartition(".")
        said = f"without {leaf}" if value is None else f"{leaf} = {json.dumps(value, ensure_ascii=False)}"
        parts.setdefault(part, []).append(said)
    return [f"{part}: {', '.join(said)}" for part, said in parts.items()]
