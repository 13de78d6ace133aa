"""What the rod must find at wells and basins, from the bottom of the hole up. Elevations in m, unrounded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roofwell import tables
from roofwell.design.result import Design
from roofwell.papers.crew_sheet.ladder import Ladder, standing
from roofwell.papers.drawing.model import known
from roofwell.papers.texts import Say
from roofwell.system.pipe_ends import Wall, pipe_end
from roofwell.system.scheme import Basin, Overflow, Run, Well
from roofwell.takeoff.digging import basin_bedding_m, basin_hole_bottom_m

AT_WALL: dict[Wall | None, str] = {"basin": " at its wall", "well": " at wall", None: ""}
"""Where a pipe's end is shot, as words after it."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One level of a well, basin or joint; ``level_m`` is None for a warning, which has words only."""

    what: str
    note: str
    level_m: float | None


def wells_on(design: Design, ladder: Ladder) -> tuple[Well, ...]:
    """Return the new wells that are dug with a ladder, in the order of the scheme: those at the ends of its runs.

    With the pipe of an overflow or link come the wells at its ends that no run reaches.
    """
    scheme, run = design.scheme, ladder.way.runs[0]
    if run in scheme.side_pipes:
        ids = {part for part in (run.from_id, run.to_id) if not scheme.runs_to(part)}
        earlier = scheme.side_pipes[: scheme.side_pipes.index(run)]
        ids -= {part for pipe in earlier for part in (pipe.from_id, pipe.to_id)}
    else:
        ids = {run.to_id for run in ladder.way.runs}
    ids -= standing(design)
    return tuple(well for well in design.scheme.wells if well.id in ids)


def basins_on(design: Design, ladder: Ladder) -> tuple[Basin, ...]:
    """Return the new basins that are set with this ladder: those on its way, but not where a branch ends."""
    ids = {part for run in ladder.way.runs for part in (run.from_id, run.to_id)}
    ids -= {ladder.until} | standing(design)
    return tuple(basin for basin in design.scheme.basins if basin.id in ids)


def overflows_on(design: Design, ladder: Ladder) -> tuple[Overflow, ...]:
    """Return the new overflows of the ladder's wells."""
    wells = {well.id for well in wells_on(design, ladder)}
    there = standing(design)
    return tuple(one for one in design.scheme.overflows if one.of in wells and one.id not in there)


def marks(design: Design, ladder: Ladder) -> tuple[Mark, ...]:
    """Return every level to shoot beside the trench; for a branch, where it comes into what it meets."""
    say = Say(design.survey.style)
    out: list[Mark] = []
    for well in wells_on(design, ladder):
        out += _well(design, well, ladder, say)
    for basin in basins_on(design, ladder):
        out += _basin(design, basin, say)
    last = ladder.way.runs[-1]
    if last.to_id not in {well.id for well in wells_on(design, ladder)}:
        out.append(_pipe_end(design, last))
    return tuple(mark for mark in out if mark.level_m is None or known(mark.level_m))


def _pipe_end(design: Design, run: Run) -> Mark:
    """Return where a pipe ends: at a basin or well that stands already, at its wall."""
    end = pipe_end(design.scheme, run, "downstream")
    return Mark(f"Pipe at {run.to_id}", f"inside bottom{AT_WALL[end.wall]}", end.invert_m)


def _well(design: Design, well: Well, ladder: Ladder, say: Say) -> Iterator[Mark]:
    size = _hole_size(well, say)
    yield Mark(f"{well.id} hole, bottom", size, well.bottom_m)
    yield from _range(design, well, size, say)
    limit = tables.limit("deep-pit", say.style)
    depth = well.ground_m - well.bottom_m
    if known(depth) and depth >= limit.value_si:
        words = f"{say.length(depth)} deep. Nobody in it unprotected."
        yield Mark(words, "", None)
    if well.stone_below_m > 0 and well.body != "none":
        thick = f"{say.length(well.stone_below_m)} thick"
        yield Mark(f"Stone under {well.id}", thick, well.bottom_m + well.stone_below_m)
    into = next((run for run in ladder.way.runs if run.to_id == well.id), None)
    if into is not None:
        end = pipe_end(design.scheme, into, "downstream")
        yield Mark(f"Pipe into {well.id}", f"inside bottom{AT_WALL[end.wall]}", end.invert_m)
    note = "then geotextile" if "top" in well.geotextile else "then soil"
    if well.stone_reaches != "buried":
        note = "level with the lawn"
    yield Mark("Stone, top", note, well.stone_top_m)
    if well.top_stone_m > 0:
        loose = f"{say.length(well.top_stone_m)} of loose stone over it"
        yield Mark(f"Geotextile in {well.id}", loose, well.stone_top_m - well.top_stone_m)
    overflow = design.scheme.overflow_of(well.id)
    if overflow is not None and overflow.id not in standing(design):
        yield Mark(f"{overflow.id} overflow, lip", "lowest way out", overflow.lip_m)


def _hole_size(well: Well, say: Say) -> str:
    if well.pit_shape == "round":
        return f"{say.length(well.pit_width_m)} round"
    return f"{say.length(well.pit_length_m)} × {say.length(well.pit_width_m)}"


def _range(design: Design, well: Well, size: str, say: Say) -> Iterator[Mark]:
    """Warn where the hole on this sheet is only the smallest of a range that something not yet measured decides."""
    if design.scheme_large is None:
        return
    large = next((one for one in design.scheme_large.wells if one.id == well.id), None)
    if large is None:
        yield Mark("Smallest of a range: its size is still open.", "", None)
        return
    most, depth = _hole_size(large, say), large.ground_m - large.bottom_m
    if most == size and large.bottom_m == well.bottom_m:
        return
    deep = f", {say.length(depth)} deep" if known(depth) and large.bottom_m != well.bottom_m else ""
    words = f"Smallest of a range: up to {most}{deep}. What is still to be measured decides."
    yield Mark(words, "", None)


def _basin(design: Design, basin: Basin, say: Say) -> Iterator[Mark]:
    settings = design.survey.settings
    stone = "pea stone" if basin.pea_stone_depth_m > 0 else "bedding"
    bedding = f"{say.length(basin_bedding_m(basin, settings))} {stone}"
    yield Mark(f"{basin.id} hole, bottom", bedding, basin_hole_bottom_m(basin, settings))
    yield Mark(f"{basin.id} floor", "inside", basin.floor_m)
    yield Mark(f"{basin.id} grate", _over_lip(design, basin, say), basin.grate_m)


def _over_lip(design: Design, basin: Basin, say: Say) -> str:
    end = design.scheme.way(basin.id)
    overflow = design.scheme.overflow_of(end[-1].to_id) if end else None
    if overflow is None or not known(overflow.lip_m, basin.grate_m):
        return "top"
    over = basin.grate_m - overflow.lip_m
    if over <= 0:
        return f"{say.length(-over)} under the lip" if over < 0 else "level with the lip"
    return f"{say.length(over)} over the lip"


def on_the_pipe_m(design: Design, run: Run) -> float:
    """Return how much less the rod reads on the inside bottom of a laid pipe than on its trench, m."""
    return run.wall_m + design.survey.settings["pipe_bedding"]
