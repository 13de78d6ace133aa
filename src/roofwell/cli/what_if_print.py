"""What if a part does not work, on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape

from roofwell.checks import what_if_words as words
from roofwell.design import Design


def print_what_if_warnings(console: Console, result: Design) -> None:
    """Print each case in which water reaches an opening of the house; always, judged or not."""
    missing = result.survey.missing | result.scheme.missing
    for line in words.warnings(result.behaviour.what_if, result.scheme, missing, result.survey.style):
        console.print(f"\n[bold red]What if[/]: {escape(line)}.")


def print_what_ifs(console: Console, result: Design) -> None:
    """Print every case, one line each."""
    found, style = result.behaviour.what_if, result.survey.style
    if found is None or not found.cases:
        return
    console.print("\n[bold]What if[/], the worst water at the house with one thing failing")
    for row in words.rows(found, result.scheme, style):
        judged = "" if row.judged else " (not judged)"
        console.print(
            f"  {row.letter}  {escape(row.what[:1].upper() + row.what[1:])}{judged}: {escape(row.house)}, "
            f"{escape(row.below)}; {escape(row.comes_out)}; {escape(row.storm)}"
        )
    console.print(f"  ({escape(words.basis(found, result.survey.missing | result.scheme.missing, style))})")
