"""Looking after it, on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape

from roofwell.checks.care_words import care
from roofwell.design import Design


def print_care(console: Console, result: Design) -> None:
    """Print who does what and when; none of it is judged."""
    found = care(result.job, result.survey, result.scheme, result.behaviour)
    if found is None:
        return
    console.print("\n[bold]Looking after it[/]")
    for row in found.rows:
        console.print(f"  {escape(row.part)}, {escape(row.when)}: {escape(row.what)}")
    for sign in found.call:
        console.print(f"  Call somebody: {escape(sign)}")
    for caution in found.cautions:
        console.print(f"  Caution: {escape(caution)}")
