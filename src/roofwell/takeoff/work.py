"""Digging lines and hours: what is dug, carried, laid and placed, by the rates of ``work_rates.csv``."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofwell.takeoff.catalog import work_rate
from roofwell.takeoff.digging import Hole, Soil
from roofwell.takeoff.lines import line
from roofwell.takeoff.quantities import Item
from roofwell.takeoff.trade import bulk, cloth, up
from roofwell.units import Style, show_bulk_volume, show_distance, show_length, show_percent

_HOUR_STEP = 0.1


def digging_lines(dug: Sequence[Hole], soil: Soil, swell: float, style: Style) -> list[Item]:
    """Return what is dug (bank), the spoil (loose), what goes back and what is hauled off (loose).

    Only the haul-off is paid by its volume; the rest is paid in hours.
    """
    out = []
    for kind in ("trench", "pit"):
        chosen = [hole for hole in dug if hole.kind == kind]
        if chosen:
            volume = math.fsum(hole.bank_m3 for hole in chosen)
            note = "; ".join(_hole(hole, style) for hole in chosen)
            places = ", ".join(hole.part for hole in chosen)
            out.append(
                _volume(f"dig-{kind}", f"dig: {kind}, bank", volume, places, note, style, priced=False)
            )
    if soil.bank_m3 <= 0:
        return out
    bank, back, gone = (show_bulk_volume(v, style) for v in (soil.bank_m3, soil.backfill_m3, soil.hauled_m3))
    grown = f"x (1 + {show_percent(swell)} swell)"
    everywhere = ", ".join(hole.part for hole in dug)
    out.append(
        _volume(
            "spoil-pile",
            "spoil, loose",
            soil.loose_m3,
            everywhere,
            f"{bank} bank {grown}",
            style,
            priced=False,
        )
    )
    note = f"{bank} dug less {gone} that stone, pipe, bodies and basins take up"
    out.append(
        _volume(
            "backfill",
            "backfill with the same soil, bank",
            soil.backfill_m3,
            everywhere,
            note,
            style,
            priced=False,
        )
    )
    note = f"{bank} dug less {back} put back = {gone} bank, {grown}"
    out.append(_volume("spoil", "haul off soil, loose", soil.hauled_loose_m3, everywhere, note, style))
    return out


def _amount(value: float, unit: str, style: Style) -> str:
    """Return an amount of work in the reader's unit."""
    match unit:
        case "m3":
            number, word = bulk(value, style)
        case "m2":
            number, word = cloth(value, style)
        case "m":
            return show_distance(value, style)
        case _:
            number, word = value, "piece" if value == 1 else "pieces"
    return f"{number:.3g} {word}"


def _volume(
    key: str, what: str, volume_m3: float, where: str, note: str, style: Style, *, priced: bool = True
) -> Item:
    quantity, unit = bulk(volume_m3, style)
    return line(key, "digging", what, up(quantity, 0.1), unit, where, note, priced=priced)


def _hole(hole: Hole, style: Style) -> str:
    volume = show_bulk_volume(hole.bank_m3, style)
    width, depth = show_length(hole.width_m, style), show_length(hole.depth_m, style)
    if hole.kind == "trench":
        return f"{hole.part} {show_distance(hole.length_m, style)} x {width} x {depth} = {volume}"
    return f"{hole.part} {show_length(hole.length_m, style)} x {width}, {depth} deep = {volume}"


def lawn_lines(dug: Sequence[Hole], style: Style) -> list[Item]:
    """Return the lawn to restore: the top of every trench and pit, less what of it is paved."""
    area = math.fsum(hole.lawn_m2 for hole in dug)
    if area <= 0:
        return []
    quantity, unit = cloth(area, style)
    note = " + ".join(f"{hole.part} {cloth(hole.lawn_m2, style)[0]:.1f}" for hole in dug) + f" {unit}"
    places = ", ".join(hole.part for hole in dug)
    return [line("lawn", "digging", "restore the lawn", up(quantity, 1.0), unit, places, note)]


def hour_lines(
    dug: Sequence[Hole],
    soil: Soil,
    *,
    pipe_m: float,
    fittings: int,
    basins: int,
    bodies: int,
    stone_m3: float,
    geotextile_m2: float,
    by_hand: bool,
    style: Style,
    paving: Sequence[tuple[str, float]] = (),
) -> list[Item]:
    """Return person-hours by task, and the days of the machine where one digs.

    The operator's hours are person-hours; a machine day is an item of its own. ``paving``: rates and amounts of
    boring and cutting walks and drives.
    """
    how = "hand" if by_hand else "machine"
    volume = {
        kind: math.fsum(hole.bank_m3 for hole in dug if hole.kind == kind) for kind in ("trench", "pit")
    }
    tasks = [
        (f"dig-trench-{how}", volume["trench"]),
        (f"dig-pit-{how}", volume["pit"]),
        ("lay-pipe", pipe_m),
        ("set-fitting", float(fittings)),
        *paving,
        ("set-basin", float(basins)),
        ("line-pit", geotextile_m2),
        ("set-body", float(bodies)),
        ("place-stone", stone_m3),
        ("backfill", soil.backfill_m3),
        ("move-spoil", soil.hauled_loose_m3),
    ]
    out = []
    machine = 0.0
    for key, quantity in tasks:
        if quantity > 0:
            rate = work_rate(key)
            hours = up(quantity / rate.rate_per_hour, _HOUR_STEP)
            much, speed = (_amount(value, rate.unit, style) for value in (quantity, rate.rate_per_hour))
            note = f"{much} at {speed} an hour"
            out.append(line("labor", "hours", rate.words(style), hours, "h", "whole job", note))
            machine += hours if key.endswith("-machine") else 0.0
    if machine > 0:
        per_day = work_rate("machine-day").rate_per_hour
        note = f"{machine:.1f} h of digging, {per_day:g} h a day"
        days = up(machine, per_day) / per_day
        out.append(
            line("excavator", "rental", "mini-excavator", float(round(days)), "day", "whole job", note)
        )
    return out
