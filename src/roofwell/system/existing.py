"""What stands already is measured, never designed: which sizes and levels of existing parts are missing.

The size that would be designed stands in meanwhile, so that the rest can be computed. It is marked missing, not
designed: it steers no search, is not adopted, and what is judged by it reads ``unknown``.
"""

from __future__ import annotations

from collections.abc import Iterable

from roofwell.job import model
from roofwell.system import overflow_parts
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger

WELL_FIGURES = ("bodies", "body_diameter_m", "body_height_m", "pit_width_m", "pit_length_m", "bottom_m")
WELL_STONE = ("hole_diameter_m", "stone", "geotextile")


def note_unmeasured(job: model.Job, layout: Layout, ledger: Ledger) -> None:
    """Turn every designed figure of an existing part into a missing one, and write down what to measure."""
    _runs(job, layout, ledger)
    for id in layout.basins:
        given = job.basins.get(id)
        if given is not None and given.state == "existing":
            _missing(ledger, "basins.size", [f"{id}.width_m"])
            _missing(ledger, "basins.levels", [f"{id}.floor_m", f"{id}.grate_m"])
    for id in layout.wells:
        well = job.wells.get(id)
        if well is not None and well.state == "existing":
            _missing(ledger, "wells.size", [f"{id}.{name}" for name in WELL_FIGURES])
            _missing(ledger, None, [f"{id}.{name}" for name in WELL_STONE])
        found = overflow_parts.overflow_of(job, id)
        if found is not None and found[1].state == "existing":
            _missing(ledger, "overflow.size", [f"{found[0]}.diameter_m"])


def _missing(ledger: Ledger, leaf: str | None, paths: Iterable[str]) -> None:
    for path in paths:
        if ledger.origin.get(path) in ("designed", "missing"):
            ledger.origin[path] = "missing"
            if leaf is not None:
                ledger.lack(leaf)


def _runs(job: model.Job, layout: Layout, ledger: Ledger) -> None:
    known = _known_ends(job, layout)
    for run in layout.runs:
        given = run.given
        if given.state != "existing":
            continue
        _missing(ledger, "runs.size", [f"{run.id}.nominal_m", f"{run.id}.inside_diameter_m"])
        if given.roughness is None or given.inside_diameter is None:
            _missing(ledger, "runs.size", [f"{run.id}.pipe"])
        ends = [
            f"{run.id}.{end}_invert_m" for end in ("upstream", "downstream") if (run.id, end) not in known
        ]
        _missing(ledger, "runs.invert", ends)


def _known_ends(job: model.Job, layout: Layout) -> set[tuple[str, str]]:
    """Ends of runs whose invert was measured: given, by the run's slope, or by the part that stands there."""
    known: set[tuple[str, str]] = set()
    joined: dict[str, bool] = dict.fromkeys(layout.wyes, False)  # whether the level at a wye is known
    for _ in range(len(layout.runs) + 1):
        before = len(known), sum(joined.values())
        for run in layout.runs:
            up, down = (run.id, "upstream"), (run.id, "downstream")
            if (
                run.given.upstream_invert is not None
                or _outlet_known(job, run.from_id)
                or joined.get(run.from_id)
            ):
                known.add(up)
            if (
                run.given.downstream_invert is not None
                or _inlet_known(job, run.to_id)
                or joined.get(run.to_id)
            ):
                known.add(down)
            if run.given.slope is not None and (up in known or down in known):
                known |= {up, down}
            for end, part in ((up, run.from_id), (down, run.to_id)):
                if end in known and part in joined:
                    joined[part] = True
        if before == (len(known), sum(joined.values())):
            break
    return known


def _outlet_known(job: model.Job, part: str) -> bool:
    basin = job.basins.get(part)
    return basin is not None and basin.floor is not None and basin.outlet_height is not None


def _inlet_known(job: model.Job, part: str) -> bool:
    basin, well, outlet = job.basins.get(part), job.wells.get(part), job.outlets.get(part)
    if basin is not None:
        return basin.floor is not None and basin.inlet_height is not None
    if well is not None:
        return well.inlet_invert is not None
    return outlet is not None and outlet.invert is not None
