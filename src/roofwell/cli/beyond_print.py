"""What lies beyond the design storm, on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape

from roofwell.checks import beyond_words as words
from roofwell.checks import rain_words, soakage_words
from roofwell.design import Design
from roofwell.system.beyond_facts import Beyond
from roofwell.system.survey import measurement
from roofwell.units import Style


def print_warnings(console: Console, result: Design) -> None:
    """Print each stress in which water reaches an opening of the house, and soakage that may be slower; always."""
    beyond = result.behaviour.beyond
    for line in words.opening_warnings(beyond, result.survey.style) if beyond is not None else ():
        console.print(f"\n[bold red]Stress[/]: {escape(line)}.")
    missing = result.survey.missing | result.scheme.missing
    for line in soakage_words.slower_warnings(beyond, result.survey, missing) if beyond is not None else ():
        console.print(f"\n[bold yellow]Soakage[/]: {escape(line)}.")


def print_beyond(console: Console, result: Design) -> None:
    """Print stresses, the storm just held, chances, other rules and the days it flooded; none of it is judged."""
    beyond = result.behaviour.beyond
    if beyond is None:
        return
    console.print("\n[bold]Beyond the design storm[/], shown and not judged")
    style = result.survey.style
    note = words.basis_note(beyond, result.survey.missing | result.scheme.missing, measurement)
    if note:
        console.print(f"  {escape(note)}")
    for row in words.stress_rows(beyond, style):
        parts = [
            part
            for part in (row.well, row.level, f"spills {row.spills}" if row.spills else "", row.goes)
            if part
        ]
        said = [", ".join(parts), f"in the pipes {row.house}" if row.house else ""]
        what = row.what[:1].upper() + row.what[1:]
        console.print(f"  {escape(what)}: {escape('; '.join(part for part in said if part))}")
    how = {
        stress.missing: measurement(stress.missing) for stress in beyond.stress if stress.missing is not None
    }
    for note in words.stress_notes(beyond, how):
        console.print(f"  ({escape(note)})")
    for line in (words.other_shape(beyond, result.survey), words.greater_words(beyond, result.survey)):
        if line:
            console.print(f"  {escape(line)}")
    if beyond.soakage:
        _print_soakage(console, result, beyond)
    if beyond.chance is not None:
        _print_chance(console, result, beyond)
    if beyond.standards:
        console.print(f"\n[bold]Every rule at once[/]: {escape(words.governing_sentence(beyond, style))}")
        for rule in words.rule_rows(beyond, style):
            mark = ", asks most" if rule.governs else ""
            console.print(
                f"  {escape(rule.well)} {escape(rule.what)}: {escape(rule.wanted)} against {escape(rule.had)}"
                f"{escape(f', {rule.share}' if rule.share else '')}{mark} ({rule.seen})"
            )
    _print_rain(console, beyond, style)
    if beyond.floods:
        console.print("\n[bold]The days it flooded[/]")
        for line in words.flood_lines(beyond.floods, style):
            console.print(f"  {escape(line)}")


def _print_rain(console: Console, beyond: Beyond, style: Style) -> None:
    found, rates = beyond.statistics, beyond.rates
    if found is not None:
        console.print(
            f"\n[bold]The gauge record beside the rain table[/]: {escape(rain_words.statistics_sentence(found, style))}"
        )
        if found.depths:
            console.print(f"  {escape(rain_words.statistics_basis(found))}")
        for row in rain_words.statistics_rows(found, style):
            table = f"; the table {row.table}" if row.table else ""
            said = f" ({row.said})" if row.said else ""
            console.print(f"  {escape(f'{row.what}: {row.record}, {row.within}{table}{said}')}")
    if rates is not None:
        console.print(f"\n[bold]Overrun over the years[/]: {escape(rain_words.rates_basis(rates))}")
        for line in rain_words.rates_lines(rates, style):
            console.print(f"  {escape(line)}")


def _print_soakage(console: Console, result: Design, beyond: Beyond) -> None:
    basis = soakage_words.soakage_basis(result.survey, result.survey.style)
    console.print(f"\n[bold]Ways to count soakage[/], side by side. {escape(basis)}")
    for row in soakage_words.soakage_rows(beyond):
        said = [f"holds {row.held}" if row.empties else row.held]
        if row.empties:
            said.append(f"empties in {row.empties}")
        if row.spills:
            said.append(f"spills {row.spills} times a year")
        mark = ", as designed" if row.own else ""
        console.print(f"  {escape(row.well)}, {escape(row.model)}{mark}: {escape('; '.join(said))}")
    for note in beyond.soakage_notes:
        console.print(f"  ({escape(note)})")
    for line in soakage_words.in_time_lines(beyond, result.survey.style):
        console.print(f"  {escape(line)}")
    consequence = soakage_words.consequence_words(result.survey)
    if consequence:
        console.print(f"  {escape(consequence)}")


def _print_chance(console: Console, result: Design, beyond: Beyond) -> None:
    assert beyond.chance is not None
    console.print(f"\n[bold]Chance[/]: {escape(words.chance_sentence(beyond) or 'not known.')}")
    for line in words.chance_lines(beyond.chance, result.survey.style):
        console.print(f"  {escape(line)}")
