"""``roofwell rain``: look at a rain table or a gauge record before a design stands on it."""

from __future__ import annotations

import argparse
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from roofwell import tables, units
from roofwell.checks.rain_words import MONTHS, statistics_basis, statistics_rows
from roofwell.cli.console import output
from roofwell.errors import InputError
from roofwell.physics.rain import events, extremes, frequency
from roofwell.physics.rain.donor import monthly_rain_m
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.system.rain_record import doubts
from roofwell.system.record_statistics import record_statistics
from roofwell.tables import rain_formats, rain_library, rain_records

WINDOWS = (("1 hour", 3600.0), ("24 hours", 86400.0))


def run(options: argparse.Namespace) -> int:
    """Show a table or record; without a name, list the shipped ones."""
    console = output()
    if options.source is None:
        _shipped(console)
        return 0
    shipped = {entry.id: entry for entry in rain_library.entries()}
    if options.source in shipped:
        entry = shipped[options.source]
        console.print(f"{entry.place}, {entry.state}: {entry.climate}. {entry.publisher}. {entry.license}.")
        if entry.kind == "table":
            _table(console, frequency.table_from_grid(rain_library.load_table(entry.id)))
        else:
            _record(console, record_from_series(rain_library.load_record(entry.id)), options)
        return 0
    try:
        text = Path(options.source).read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise InputError(f"{options.source}: {error.strerror}", code="file-missing") from None
    return _file(console, text, options)


def _file(console: Console, text: str, options: argparse.Namespace) -> int:
    try:
        grid = rain_formats.parse_table(text)
    except InputError as not_a_table:
        try:
            steps = rain_records.parse_record(
                text,
                unit=options.unit,
                label=options.stamps,
                most_m=tables.limit("rain-step-impossible", "us").value_si,
            )
        except InputError as not_a_record:
            raise InputError(
                f"{options.source} is neither a rain table nor a gauge record.\n  As a table: {not_a_table.message}\n"
                f"  As a record: {not_a_record.message}",
                code="rain-unknown",
            ) from None
        for remark in steps.remarks:
            console.print(f"- {escape(remark.text)}")
        record = record_from_series(steps)
        for words in doubts(record, "us"):
            console.print(f"- {escape(words)}")
        _record(console, record, options)
        return 0
    table = frequency.table_from_grid(grid)
    console.print(f"{escape(grid.place or options.source)}: {table.series} series, given in {grid.units}.")
    for problem in frequency.problems(table):
        console.print(f"- {escape(problem)}")
    _table(console, table)
    return 0


def _shipped(console: Console) -> None:
    show = Table(box=None, pad_edge=False)
    for name in ("id", "kind", "place", "climate"):
        show.add_column(name)
    for entry in rain_library.entries():
        show.add_row(entry.id, entry.kind, f"{entry.place}, {entry.state}", entry.climate)
    console.print(show)


def _table(console: Console, table: frequency.FrequencyTable) -> None:
    show = Table(box=None, pad_edge=False)
    show.add_column("duration")
    for years in table.return_period_years:
        show.add_column(f"{years:g} yr", justify="right")
    for i, duration in enumerate(table.duration_s):
        show.add_row(
            frequency.duration_words(float(duration)),
            *(f"{depth / 0.0254:.2f} in" for depth in table.depth_m[i]),
        )
    console.print(show)


def _record(console: Console, record: Record, options: argparse.Namespace) -> None:
    found = events.find_events(
        depth_m=record.depth_m, step_s=record.step_s, gap_s=tables.assumption("event-gap").value_si
    )
    console.print(
        f"{record.years:.1f} years in steps of {units.show_time(record.step_s)}, "
        f"{units.show_depth(record.yearly_mean_m, 'us')} a year, {found.count / record.years:.0f} rain events a year, "
        f"{units.show_percent(record.share_missing, 2)} missing (counted as dry)."
    )
    for words, window in WINDOWS:
        if window >= record.step_s:
            most = extremes.largest(record, window_s=window)
            console.print(f"Most in {words}: {most.depth_m / 0.0254:.2f} in from {most.start}.")
    months = ", ".join(
        f"{name} {depth / 0.0254:.2f}" for name, depth in zip(MONTHS, monthly_rain_m(record), strict=True)
    )
    console.print(f"Mean rain of each month, in: {months}.")
    _statistics(console, record, options)


def _statistics(console: Console, record: Record, options: argparse.Namespace) -> None:
    """Show every depth of the record's own partial-duration series, beside a table where one is named."""
    table = _named_table(options.table) if options.table is not None else None
    found = record_statistics(
        record, name=options.source, here=True, table=table, gap_s=tables.assumption("event-gap").value_si
    )
    if not found.depths:
        console.print(f"No statistics of its own: {escape(found.why_not)}.")
        return
    console.print(f"\n{escape(statistics_basis(found))}")
    show = Table(box=None, pad_edge=False)
    for name in ("rain", "record", "range", *(("table", "") if table is not None else ())):
        show.add_column(name, justify="right" if name in ("record", "table") else "left")
    for row in statistics_rows(found, "us", every=True):
        compared = (row.table, row.said) if table is not None else ()
        show.add_row(row.what, row.record, row.within, *compared)
    console.print(show)


def _named_table(name: str) -> frequency.FrequencyTable:
    """Return the rain table of a file, or the shipped one of an id."""
    if name in {entry.id for entry in rain_library.entries("table")}:
        return frequency.table_from_grid(rain_library.load_table(name))
    try:
        text = Path(name).read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise InputError(f"{name}: {error.strerror}", code="file-missing") from None
    return frequency.table_from_grid(rain_formats.parse_table(text))
