"""The wells in years, on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape

from roofwell.checks import age_words as words
from roofwell.design import Design


def print_ageing(console: Console, result: Design) -> None:
    """Print each well new and old, when each target is lost, and what care is worth; judged only by targets.years."""
    ageing, style = result.behaviour.ageing, result.survey.style
    if ageing is None:
        return
    why_not = words.unknown(result.survey.missing | result.scheme.missing)
    console.print(f"\n[bold]The well in years[/]{': ' + escape(why_not) if why_not else ''}")
    if why_not:
        return
    for line in (*words.well_sentences(ageing, result.survey), *words.care_sentences(ageing, style)):
        console.print(f"  {escape(line)}")
    for row in words.age_rows(ageing, style):
        said = [
            f"silt on the floor {row.silt}" if row.silt else "",
            f"the floor passes {row.floor}" if row.floor else "",
            f"room left {row.room}" if row.room else "",
            f"holds {row.held} of the storm",
            f"empties in {row.empties}",
            f"spills {row.spills} times a year" if row.spills else "",
        ]
        head = ", ".join(part for part in (row.well, row.age, row.care) if part)
        console.print(f"  {escape(head)}: {escape('; '.join(part for part in said if part))}")
    for note in words.basis(ageing, result.survey):
        console.print(f"  ({escape(note)})")
