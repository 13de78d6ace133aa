"""The tables of the set: levels along each way, setting out, pipes, open sizes, the order list."""

from __future__ import annotations

import math
from itertools import combinations
from typing import Any

from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.drawing.model import XY
from roofwell.papers.drawing.plan import corner_letters
from roofwell.papers.drawing.side_profile import beside
from roofwell.papers.drawing.way import Way, joins, unroll
from roofwell.papers.texts import Say, money, pipe_words, quantity
from roofwell.system.pipe_ends import ENDS, PipeEnd, pipe_end
from roofwell.system.scheme import PipeFitting, Scheme
from roofwell.system.well_words import well_words
from roofwell.takeoff.quantities import Takeoff

Row = dict[str, Any]

_WORK = ("digging", "hours", "rental")


def levels(design: Design) -> list[dict[str, Any]]:
    """Return a table for each way and each pipe beside the runs: station, what stands there, ground, invert, cover."""
    say = Say(design.survey.style)
    out = []
    for spout, met in joins(design.scheme).items():
        way = unroll(design.scheme, spout, until=met[0] if met else None)
        rows = [row for index in range(len(way.runs)) for row in _run_levels(design, way, index, say)]
        note = f"From {met[0]} on as from {met[1]}." if met else ""
        if not design.survey.ground_known:
            note += " The ground was not measured: the inverts follow from a ground that stands in for it."
        out.append({"title": f"From {spout}", "rows": rows, "note": note})
    for way in beside(design.scheme):
        called = design.scheme.called(way.runs[0])
        rows = _run_levels(design, way, 0, say)
        out.append({"title": f"{called[:1].upper()}{called[1:]}", "rows": rows, "note": ""})
    return out


def _run_levels(design: Design, way: Way, index: int, say: Say) -> list[Row]:
    run, start = way.runs[index], way.starts_m[index]
    step = 10 * 0.3048 if say.style == "us" else 3.0
    first, last = (pipe_end(design.scheme, run, end) for end in ENDS)
    stations = {first.station_m: _end_words(first), last.station_m: _end_words(last)}
    at = (math.floor((start + first.station_m) / step + 1e-6) + 1) * step - start
    while at < last.station_m - 0.25 * step:
        if at > first.station_m + 0.25 * step:
            stations[at] = ""
        at += step
    for crossing in run.crossings:
        stations.setdefault(crossing.station_m, "")
        depth = f"top {say.level(crossing.top_m)}" if crossing.top_m is not None else "how deep?"
        stations[crossing.station_m] = f"crosses {crossing.label}, {depth}"
    for fitting in run.fittings:
        if first.station_m < fitting.station_m < last.station_m and fitting.station_m not in stations:
            here = [other for other in run.fittings if other.station_m == fitting.station_m]
            stations[fitting.station_m] = " + ".join(_fitting_words(other) for other in here)
    for paved in design.scheme.paved:
        if paved.run == run.id and 0.0 < paved.station_m < run.length_m:
            passes = f"{paved.kind} {paved.id}, {paved.way} for {say.distance(paved.length_m)}"
            before = stations.get(paved.station_m, "")
            stations[paved.station_m] = f"{before}, {passes}" if before else passes
    rows = []
    for station, what in sorted(stations.items()):
        ground = way.ground_at(start + station) if design.survey.ground_known else math.nan
        end = next((one for one in (first, last) if one.station_m == station), None)
        invert = end.invert_m if end is not None else run.invert_at(station)
        rows.append(
            {
                "run": run.id if station == first.station_m else "",
                "station": say.station(start + station),
                "what": what,
                "ground": say.level(ground),
                "invert": say.level(invert),
                "depth": say.depth(ground - invert),
                "cover": say.depth(ground - invert - run.inside_diameter_m - run.wall_m),
                "strong": end is not None,
            }
        )
    return rows


def _end_words(end: PipeEnd) -> str:
    """Name a part, and at a basin or well the wall at which the pipe ends: its levels are those there."""
    if end.wall is None:
        return end.part
    side = "out" if end.end == "upstream" else "in"
    wall = "wall" if end.wall == "basin" else "body's wall"
    return f"{end.part} {side}, at its {wall}"


def _fitting_words(fitting: PipeFitting) -> str:
    return f"{fitting.label}° {fitting.kind}" if fitting.label.isdigit() else fitting.label or fitting.kind


def setting_out(design: Design) -> dict[str, Any]:
    """Return where each part stands: tape lengths from two corners of the house, and its coordinates."""
    say = Say(design.survey.style)
    corners = corner_letters(design)
    rows = []
    scheme = design.scheme
    parts: list[tuple[str, str, XY]] = [(p.id, "downspout", p.at) for p in scheme.downspouts]
    parts += [(p.id, "wye", p.at) for p in scheme.wyes]
    parts += [(p.id, "basin, middle", p.at) for p in scheme.basins]
    for well in scheme.wells:
        what = "first body" if well.body == "cylinder" else "where the pipe comes in"
        parts.append((well.id, f"well, {what}", well.at))
        parts += [
            (well.id, f"pit corner {n}", at)
            for n, at in enumerate(well.pit_corners, 1)
            if well.pit_shape != "round"
        ]
    parts += [(p.id, p.kind, p.at) for p in scheme.outlets]
    for id, what, at in parts:
        tie = _ties(at, corners)
        rows.append(
            {
                "id": id,
                "what": what,
                "ties": [f"{letter}: {say.distance(length)}" for letter, length in tie],
                "east": say.distance(at[0]),
                "north": say.distance(at[1]),
            }
        )
    origin = design.job.frame.origin
    where = f"East and north are from {origin}." if origin else "East and north are in the job's own frame."
    return {"rows": rows, "note": f"Two tapes from the lettered corners of the house. {where}"}


def _ties(at: XY, corners: dict[str, XY]) -> list[tuple[str, float]]:
    """Choose the two corners whose tapes cross best, among those within 40 m."""
    best: tuple[float, list[tuple[str, float]]] = (0.0, [])
    for (a, p), (b, q) in combinations(corners.items(), 2):
        da, db = math.dist(at, p), math.dist(at, q)
        if min(da, db) < 0.05 or max(da, db) > 40.0:
            continue
        cross = abs((p[0] - at[0]) * (q[1] - at[1]) - (p[1] - at[1]) * (q[0] - at[0])) / (da * db)
        worth = cross / (1.0 + 0.02 * (da + db))
        if worth > best[0]:
            best = (worth, [(a, da), (b, db)])
    return best[1]


def pipes(design: Design) -> list[Row]:
    """Return a row for each run: ends, size, length, slope, what comes and what it carries full."""
    say = Say(design.survey.style)
    flows = {flow.id: flow for flow in design.behaviour.runs}
    rows = []
    for run in design.scheme.runs:
        flow = flows.get(run.id)
        rows.append(
            {
                "id": run.id,
                "ends": f"{run.from_id} to {run.to_id}",
                "size": say.size(run.nominal_m),
                "pipe": pipe_words(run.pipe),
                "length": say.distance(run.length_m),
                "slope": say.slope_twice(run.slope_m_m if run.length_m else math.nan),
                "comes": say.flow(flow.peak_m3_s if flow else None),
                "carries": say.flow(flow.full_m3_s if flow else None),
                "from": design.scheme.origin.get(f"{run.id}.inside_diameter_m", "designed"),
            }
        )
    return rows


def open_sizes(design: Design) -> dict[str, Any] | None:
    """Return the sizes that a missing measurement leaves open, smallest and largest side by side; None if it moves none."""
    large = design.scheme_large
    if large is None:
        return None
    say = Say(design.survey.style)
    small_sizes, large_sizes = _sizes(design.scheme, say), _sizes(large, say)
    rows = [
        {"what": what, "small": small_sizes.get(what, "none"), "large": large_sizes.get(what, "none")}
        for what in dict.fromkeys([*small_sizes, *large_sizes])
        if small_sizes.get(what) != large_sizes.get(what)
    ]
    stone = (design.takeoff.stone_m3, design.takeoff_large.stone_m3 if design.takeoff_large else None)
    dig = (design.takeoff.excavation_m3, design.takeoff_large.excavation_m3 if design.takeoff_large else None)
    for what, (least, most) in (("stone", stone), ("digging", dig)):
        if say.bulk(least) != say.bulk(most):
            rows.append({"what": what, "small": say.bulk(least), "large": say.bulk(most)})
    if not rows:
        return None
    words = (design.open_sizes or "a measurement that is missing leaves the sizes open").rstrip(".")
    return {"words": f"{words[:1].upper()}{words[1:]}.", "rows": rows}


def _sizes(scheme: Scheme, say: Say) -> dict[str, str]:
    out: dict[str, str] = {"wells": str(len(scheme.wells))}
    for well in scheme.wells:
        upright = f"{well.bodies} of {say.length(well.body_diameter_m)}"
        out[f"{well.id}: bodies"] = upright if well.body == "cylinder" else well_words(well, say.style)
        out[f"{well.id}: pit"] = f"{say.length(well.pit_length_m)} by {say.length(well.pit_width_m)}"
        out[f"{well.id}: bottom"] = say.elevation(well.bottom_m)
    for run in scheme.runs:
        out[f"{run.id}: pipe"] = say.size(run.nominal_m)
    return out


def order(takeoff: Takeoff) -> dict[str, Any]:
    """Return the order list as it is read to the supplier."""
    rows = [
        {
            "group": item.group,
            "what": item.what,
            "quantity": quantity(item.quantity),
            "unit": item.unit,
            "where": item.where,
            "note": item.note,
            "each": money(item.price_each, takeoff.currency) if item.price_each is not None else "",
            "amount": money(item.amount, takeoff.currency) if item.amount is not None else "",
        }
        for item in takeoff.items
    ]
    priced = any(item.price_each is not None for item in takeoff.items)
    if takeoff.price is not None:
        total = money(takeoff.price, takeoff.currency)
    else:
        names = {item.key: item.what for item in takeoff.items}
        waits = list(dict.fromkeys(names.get(key, key) for key in takeoff.unpriced))
        total = f"waits for the price of {several(waits)}" if waits and priced else ""
    book = f"Prices: {takeoff.price_book}" if takeoff.price_book and priced else ""
    if book and takeoff.prices_invented:
        book += ", invented"
    buy = [row for row in rows if row["group"] not in _WORK]
    work = [row for row in rows if row["group"] in _WORK]
    nothing = "Nothing to buy, nothing to dig: everything stands already."
    return {"buy": buy, "work": work, "total": total, "book": book, "priced": priced, "nothing": nothing}


def bulk(takeoff: Takeoff, say: Say) -> str:
    """Return stone and soil in one line."""
    return (
        f"Stone {say.bulk(takeoff.stone_m3)}, {say.mass(takeoff.stone_kg)}; the list adds waste."
        f" Digging {say.bulk(takeoff.excavation_m3)}, {say.bulk(takeoff.spoil_m3)} once loosened."
        f" Geotextile {say.area(takeoff.geotextile_m2)}."
        f" Crew {quantity(takeoff.hours)} h."
    )
