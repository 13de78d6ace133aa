"""Basins that cannot be built as written: mouths over the rim or under the floor, two plans at once."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell.job.lines import KeyPath
from roofwell.job.model import Basin, Job
from roofwell.job.problems import Fault


def _pair(table: KeyPath, first: str, second: str, message: str) -> Fault:
    return Fault((*table, first), message, "contradiction", ((*table, first), (*table, second)))


def basin_faults(job: Job) -> Iterator[Fault]:
    """Find mouths out of their basin, hoods under its floor, and plans that are two at once."""
    for label, basin in job.basins.items():
        table: KeyPath = ("basins", label)
        yield from _basin_plan(table, basin)
        depth, outlet = basin.hood_depth, basin.outlet_height
        if depth is not None and outlet is not None and depth.exact >= outlet.exact:
            message = f"the hood's mouth would lie on or under the floor: the outlet is {outlet.text} over it"
            yield _pair(table, "hood_depth", "outlet_height", message)
        yield from _ports(job, label, basin)
        if basin.floor is None or basin.grate is None:
            continue
        if basin.grate.exact <= basin.floor.exact:
            yield _pair(table, "grate", "floor", "the grate must lie above the floor of the basin")
            continue
        height = basin.grate.exact - basin.floor.exact
        for key, port in (("inlet_height", basin.inlet_height), ("outlet_height", basin.outlet_height)):
            if port is not None and port.exact >= height:
                message = (
                    f"{key} counts from the basin's floor ({basin.floor.text}) and must stay below the grate "
                    f"({basin.grate.text})"
                )
                yield Fault((*table, key), message, "contradiction", ((*table, key),))


def _basin_plan(table: KeyPath, basin: Basin) -> Iterator[Fault]:
    """A basin has one plan: round, square, rectangular or an outline."""
    wrong = {
        "round": ("length", "outline"),
        "square": ("diameter", "length", "outline"),
        "rectangular": ("diameter", "outline"),
        "outline": ("diameter", "width", "length"),
    }
    shape = basin.shape
    if shape is None and basin.outline:
        shape = "outline"
    elif shape is None and basin.length is not None:
        shape = "rectangular"
    for key in wrong.get(shape or "", ()):
        if getattr(basin, key):
            says = {"round": "a diameter", "square": "a width", "outline": "its corners (outline)"}
            message = (
                f"this basin is {shape}, so it has {says.get(shape or '', 'a width and a length')}, no {key}"
            )
            yield Fault((*table, key), message, "contradiction", ((*table, key),))
    if basin.length is not None and basin.width is None and shape == "rectangular":
        path = (*table, "length")
        yield Fault(
            path, "a length alone gives no area; write the inside width too", "makes-no-sense", (path,)
        )


def _ports(job: Job, label: str, basin: Basin) -> Iterator[Fault]:
    """Inverts of the runs that meet a basin, as elevations, lie over its floor and under its grate."""
    for id, run in job.runs.items():
        for key, part, invert in (
            ("downstream_invert", run.to, run.downstream_invert),
            ("upstream_invert", run.from_, run.upstream_invert),
        ):
            if part != label or invert is None:
                continue
            path: KeyPath = ("runs", id, key)
            for level, word in ((basin.floor, "floor"), (basin.grate, "grate")):
                if level is None:
                    continue
                under = invert.exact < level.exact
                if under == (word == "floor"):
                    side, must = ("under", "over") if under else ("over", "under")
                    message = (
                        f"this mouth would lie {side} the {word} of {label} ({level.text}); it must lie {must} it: "
                        f"shoot the invert again, or the {word}"
                    )
                    yield Fault(path, message, "contradiction", (path,))
