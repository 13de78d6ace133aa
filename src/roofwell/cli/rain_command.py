"""``roofwell rain``: look at a rain table or a gauge record before a design stands on it."""

from __future__ import annotations

import argparse
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from roofwell import tables, units
from roofwell.cli.console import output
from roofwell.errors import InputError
from roofwell.physics.rain import events, extremes, frequency
from roofwell.physics.rain.record import Record, record_from_series
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
            _record(console, record_from_series(rain_library.load_record(entry.id)))
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
                most_m=tables.limit("rain-step-impossible").value_si,
            )
        except InputError as not_a_record:
            raise InputError(
                f"{options.source} is neither a rain table nor a gauge record.\n  As a table: {not_a_table.message}\n"
                f"  As a record: {not_a_record.message}",
                code="rain-unknown",
            ) from None
        for remark in steps.remarks:
            console.print(f"- {escape(remark.text)}")
        _record(console, record_from_series(steps))
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


def _record(console: Console, record: Record) -> None:
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
