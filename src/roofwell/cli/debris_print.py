"""What comes off the roof and what the basin keeps, on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape

from roofwell.checks import debris_words as words
from roofwell.design import Design


def print_debris(console: Console, result: Design) -> None:
    """Print each basin as it is and with each cheap part, and what reaches the stone; none of it is judged."""
    debris, style = result.behaviour.debris, result.survey.style
    if debris is None or not (debris.basins or debris.wells):
        return
    console.print("\n[bold]What the basin keeps, what gets past, the cheap part that mends it[/]")
    for row in words.variant_rows(debris, style):
        console.print(
            f"  {escape(row.basin)} {escape(row.what)}: keeps {row.grit} of grit and silt, {row.floating} of what floats; "
            f"past it go {escape(row.past)} a year; half the sump in {row.months}"
        )
    for rain in words.rain_rows(debris, style):
        console.print(
            f"  {escape(rain.basin)} in {rain.rain}: an ideal basin keeps {rain.ideal}, the jet leaves lying {rain.rests}; "
            f"kept: {escape(rain.kept)}"
        )
    for well in debris.wells:
        line = words.well_sentence(well, style)
        if line:
            console.print(f"  {escape(line)}")
    for kind in words.kind_rows(debris, style):
        console.print(
            f"  {escape(kind.well)} {escape(kind.what)}: off the roof {escape(kind.comes)}, to the stone "
            f"{escape(kind.reaches)} a year, {escape(kind.room)} as it lies"
        )
    for rule in words.sump_rules(result.scheme, style):
        console.print(
            f"  {escape(rule.basin)} {escape(rule.what)}: {rule.wants} wanted, {rule.has} there ({rule.source})"
        )
    for note in words.basis(debris, style):
        console.print(f"  ({escape(note)})")
