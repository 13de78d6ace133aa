"""The papers: what is read of a Design, on paper, in a spreadsheet, by another program.

``PAPERS``        the register: every paper by its name
``write_papers``  write the first set of them into a folder
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from roofwell.design.result import Design
from roofwell.papers.crew_sheet import make_crew_sheets
from roofwell.papers.order import order_csv
from roofwell.papers.results import results_json
from roofwell.papers.set import make_set, make_short_set
from roofwell.papers.typesetting import write_whole

__all__ = ["PAPERS", "Paper", "results_json", "write_papers"]


@dataclass(frozen=True, slots=True)
class Paper:
    """One paper: the file that it becomes, what it is for, and what makes its bytes from a Design."""

    name: str
    file: str
    what: str
    make: Callable[[Design], bytes]


PAPERS: Mapping[str, Paper] = {
    paper.name: paper
    for paper in (
        Paper(
            "set", "roofwell.pdf", "nine answers, site plan, sections, levels, order list, cautions", make_set
        ),
        Paper(
            "homeowner",
            "homeowner.pdf",
            "for whoever lives there: nine answers, site plan, one section, looking after it, cautions",
            make_short_set,
        ),
        Paper(
            "crew",
            "crew-sheets.pdf",
            "rod readings for each way that is dug, order of work",
            make_crew_sheets,
        ),
        Paper("order", "order.csv", "the order list for a spreadsheet", order_csv),
        Paper(
            "results", "results.json", "everything that the design says, for another program", results_json
        ),
    )
}
"""Every paper by its name; a new paper is a folder and an entry here."""


def write_papers(
    design: Design,
    folder: Path,
    *,
    progress: Callable[[str, int, int], None] | None = None,
    otherwise: Mapping[str, Callable[[Design], bytes]] | None = None,
) -> tuple[Path, ...]:
    """Write all papers of a Design into a folder, which is made if it is not there; return their paths.

    All papers are made before the first is written, and each is written whole or not at all, so a paper that
    cannot be made leaves the old ones in place. ``progress`` is told the file's name, how many are made,
    and how many there are. ``otherwise`` makes a paper, by its name, in another way than the register says
    (the crew sheets for another height of the instrument).

    Raises
    ------
    InternalError
        ``paper-failed`` or ``paper-warning`` if a paper cannot be set.
    OSError
        if the folder cannot be written.
    """
    made: list[tuple[Path, bytes]] = []
    # the typesetter works without the interpreter's lock: while it sets one paper the next is prepared
    with ThreadPoolExecutor(max_workers=len(PAPERS)) as pool:
        tasks = [
            pool.submit((otherwise or {}).get(paper.name, paper.make), design) for paper in PAPERS.values()
        ]
        for count, (paper, task) in enumerate(zip(PAPERS.values(), tasks, strict=True), 1):
            made.append((folder / paper.file, task.result()))
            if progress is not None:
                progress(paper.file, count, len(PAPERS))
    folder.mkdir(parents=True, exist_ok=True)
    for path, content in made:
        write_whole(path, content)
    return tuple(path for path, _ in made)
