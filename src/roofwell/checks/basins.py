"""4. Does it stay clean? The catch basin: its mouths, what it keeps from the well, when to empty it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks import debris_words as words
from roofwell.checks.register import Context, Measured, check
from roofwell.system.debris_facts import total_m3_year
from roofwell.system.pipe_ends import end_invert_m


@check(
    "basin-ports",
    question=4,
    needs=("survey.ground", "basins.levels", "runs.invert"),
    value="room at the tightest pipe of {}",
    about="Every pipe meets its basin between floor and grate: invert over the floor, top of the pipe under the grate.",
)
def basin_ports(context: Context) -> Iterator[Measured]:
    """The mouth with least room."""
    style = context.survey.style
    scale = tables.limit("basin-port-scale", style).value_si
    for basin in context.scheme.basins:
        rooms = []
        for run in context.scheme.runs:
            end = "downstream" if run.to_id == basin.id else "upstream" if run.from_id == basin.id else None
            if end is None:
                continue
            invert = end_invert_m(context.scheme, run, end)  # type: ignore[arg-type]
            rooms.append((invert - basin.floor_m, run.id, "over the floor"))
            rooms.append((basin.grate_m - invert - run.inside_diameter_m, run.id, "under the grate"))
        rooms = [room for room in rooms if math.isfinite(room[0])]
        if not rooms:
            continue
        room, run_id, side = min(rooms)
        other = "under the floor" if side == "over the floor" else "over the grate"
        yield Measured(
            subject=basin.id,
            value=round(room, 9),
            op="at least",
            limit=0.0,
            scale=scale,
            show=lambda v: units.show_length(v, style),
            sentence=(
                f"Every pipe meets {basin.id} between floor and grate; the tightest, {run_id}, has "
                f"{units.show_length(room, style)} {side}."
                if room >= 0
                else f"{run_id} would meet {basin.id} {units.show_length(-room, style)} {other}: move the pipe, or the "
                f"{'floor' if side == 'over the floor' else 'grate'}."
            ),
            source="derived",
        )


@check(
    "floating-kept",
    question=4,
    needs=("downspouts", "basins.levels"),
    value="share of leaves and needles that {} keeps back",
    about="Share of the leaves, needles and seeds that a basin keeps from the well, by room: hood or turned-down elbow "
    "with an air hole, screen.",
    digging=False,
)
def floating_kept(context: Context) -> Iterator[Measured]:
    """What it does well, what it lets past, the cheap part that mends it."""
    debris, style = context.behaviour.debris, context.survey.style
    if debris is None:
        return
    limit = tables.limit("floating-kept")
    for found in debris.basins:
        basin = next(one for one in context.scheme.basins if one.id == found.basin)
        litter = [amount for amount in found.comes if not amount.mineral]
        kept, past = (
            found.as_is.floating_kept,
            total_m3_year(amount for amount in found.as_is.past if not amount.mineral),
        )
        if debris.trees_known and total_m3_year(litter).best <= 0:
            continue  # no tree over the roof
        lets = kept.best < limit.value_si
        needs = []
        if lets and not debris.trees_known:
            needs.append("roofs.trees")
        if basin.hood and basin.hood_air_hole is None and kept.low < limit.value_si:
            needs.append("basins.hood_air_hole")
        mend = words.best_mend(found) if lets else None
        cheap = (
            f" {words.mended(mend, style)[:1].upper()}{words.mended(mend, style)[1:]} it keeps "
            f"{words.share(mend.floating_kept)}."
            if mend is not None
            else ""
        )
        yield Measured(
            subject=found.basin,
            value=kept.best,
            op="at least",
            limit=limit.value_si,
            scale=limit.value_si,
            show=units.show_percent,
            sentence=(
                f"{found.basin} keeps {words.share(kept)} of the leaves, needles and seeds; about "
                f"{words.best_room(past, style)} a year go on to the stone.{cheap}"
            ),
            source=limit.source,
            low=kept.low,
            high=kept.high,
            uncertainty=0.0,
            also_missing=tuple(needs),
            detail=f"To {found.basin} come {words.comes_words(found, style)}.",
        )


@check(
    "basin-emptying",
    question=4,
    needs=("downspouts", "basins.levels", "basins.size"),
    value="how often {} wants emptying",
    about="How often a year the basin wants to be emptied, at half its sump, against how often the owner will.",
    digging=False,
)
def basin_emptying(context: Context) -> Iterator[Measured]:
    """Half a sump over what settles in it in a year."""
    debris, style = context.behaviour.debris, context.survey.style
    if debris is None:
        return
    share, most = tables.limit("clean-out-share"), tables.limit("emptied-most")
    for found in debris.basins:
        basin = next(one for one in context.scheme.basins if one.id == found.basin)
        months = found.as_is.months_to_half
        times = [12.0 / m if m > 0 else math.inf for m in (months.high, months.best, months.low)]
        limit = basin.emptied_year if basin.emptied_year is not None else most.value_si
        deeper = next(v for v in found.others if v.key == "deeper sump")
        tells = times[1] > limit
        mend = (
            f" {words.mended(deeper, style)[:1].upper()}{words.mended(deeper, style)[1:]} it takes "
            f"{words.months(deeper.months_to_half)}; a guard over the gutter keeps most leaves out of it."
            if tells
            else ""
        )
        yield Measured(
            subject=found.basin,
            value=times[1],
            op="at most",
            limit=limit,
            scale=limit,
            show=lambda v: f"{words.two(v)} a year",
            sentence=(
                f"Half the sump of {found.basin} ({units.show_volume(found.half_sump_m3, style)}) is full in "
                f"{words.months(months)}: empty it after leaf fall and when half is full.{mend}"
            ),
            source="rhode-island-8-30" if basin.emptied_year is not None else most.source,
            low=times[0],
            high=times[2],
            uncertainty=0.0,
            also_missing=() if debris.trees_known else ("roofs.trees",),
            limit_text=None
            if basin.emptied_year is not None
            else f"at most {words.two(limit)} a year (nobody said how often the owner will)",
            detail=f"Emptied at {share.text} of the sump, as the {tables.source(share.source).publisher} asks.",
        )
