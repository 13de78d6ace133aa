"""Stone, voids, fabric and grains of a job that contradict each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault
from roofwell.job.soil_model import Soil
from roofwell.job.system_model import Well

NO_200_M = 75e-6
_OF_CLOTH = ("geotextile_class", "geotextile_opening", "geotextile_permittivity")


def filter_faults(job: Job) -> Iterator[Fault]:
    """Find what is said twice, or of something that is not there, and grains out of order."""
    for label, well in job.wells.items():
        yield from _well(("wells", label), well)
    yield from _grains(job.soil)


def _well(table: KeyPath, well: Well) -> Iterator[Fault]:
    if well.voids is not None and well.void_ratio is not None:
        message = (
            "voids (open space over the whole volume) and void_ratio (over the stone's own volume) say the same thing in"
            " two ways; keep the one that was measured"
        )
        yield _twice(table, "void_ratio", "voids", message)
    if well.slot_width is not None and well.hole_diameter is not None:
        yield _twice(
            table, "slot_width", "hole_diameter", "a body has slots or round holes; keep the wider one"
        )
    surfaced = well.stone_top in ("surface", "lawn inlet")
    if well.top_stone is not None and well.top_stone.exact > 0 and not surfaced:
        path = (*table, "top_stone")
        message = 'soil lies over this stone; write stone_top = "surface", or leave top_stone out'
        yield Fault(path, message, "contradiction", (path,))
    sheet = surfaced and (well.top_stone is None or well.top_stone.exact > 0)
    if well.geotextile == () and not sheet:
        for key in _OF_CLOTH:
            if getattr(well, key) is not None:
                message = "geotextile = [] says that there is no cloth; name the faces that it lines"
                yield Fault((*table, key), message, "contradiction", ((*table, key),))


def _grains(soil: Soil) -> Iterator[Fault]:
    sizes = [
        (key, share, size)
        for key, share in (("grain_d15", 0.15), ("grain_d50", 0.50), ("grain_d85", 0.85))
        if (size := getattr(soil, key)) is not None
    ]
    for (fine, _, less), (coarse, _, more) in pairwise(sizes):
        if less.exact > more.exact:
            message = f"{fine} is {less.text}, which is larger: a greater share is finer than a larger size"
            yield _twice(("soil",), coarse, fine, message)
            return
    passing = soil.passing_no_200
    if passing is None:
        return
    for key, share, size in sizes:
        within = passing.value_si >= share if size.value_si <= NO_200_M else passing.value_si <= share
        if not within:
            message = f"{passing.text} passes No. 200 (0.075 mm), and {share:.0%} is finer than {size.text}"
            yield _twice(("soil",), "passing_no_200", key, f"{message}; one of the two is a slip")
            return


def _twice(table: KeyPath, first: str, second: str, message: str) -> Fault:
    return Fault((*table, first), message, "contradiction", ((*table, first), (*table, second)))
