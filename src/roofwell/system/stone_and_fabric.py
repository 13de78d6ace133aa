"""Which stone and which fabric a well has: given, else the usual one that keeps the rules of the tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from roofwell import tables
from roofwell.job import model
from roofwell.physics.well.filter import porosity_of_void_ratio
from roofwell.physics.well.perforation import size_passing_m
from roofwell.system.facts import Survey
from roofwell.system.grains import Grains, grains
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import Fabric, Well
from roofwell.system.trench_parts import default_part
from roofwell.tables import fabrics
from roofwell.tables.stones import Stone, StoneShape, stone_named, stones


@dataclass(frozen=True, slots=True)
class StoneSize:
    """A size of a stone, m: at the fine edge of its band, in the middle, at the coarse edge.

    The three are the same where only one size was ever published.
    """

    fine_m: float
    middle_m: float
    coarse_m: float


@lru_cache(maxsize=256)
def stone_size(stone: Stone, share: float) -> StoneSize:
    """Return the size that ``share`` of a stone passes, between sieves on the logarithm of size.

    A stone without sieves has D15 and D85 of its table, and its D50 between them on the logarithm.
    """
    if not stone.bands:
        size = stone.d15_m * (stone.d85_m / stone.d15_m) ** ((share - 0.15) / 0.70)
        return StoneSize(size, size, size)
    sieves = [sieve for sieve, _, _ in stone.bands]

    def at(passing: list[float]) -> float:
        return size_passing_m(opening_m=sieves, passing_fraction=passing, wanted_fraction=share)

    return StoneSize(
        at([high for _, _, high in stone.bands]),
        at([(low + high) / 2 for _, low, high in stone.bands]),
        at([low for _, low, _ in stone.bands]),
    )


def chosen_stone(survey: Survey, hole_m: float, slot_m: float) -> str:
    """Return the usual stone, or the next coarser one of which even a fine load stays out of the holes or slots."""
    usual = default_part("stone", survey)
    least = max(
        tables.limit("perforation-ratio").value_si * hole_m, tables.limit("slot-ratio").value_si * slot_m
    )
    by_size = sorted(stones().values(), key=lambda stone: stone.d85_m)
    keys = [stone.key for stone in by_size]
    coarse = {stone.key for stone in by_size if stone_size(stone, 0.85).fine_m >= least}
    return next((key for key in keys[keys.index(usual) :] if key in coarse), usual)


def shape_of(given: model.Well) -> StoneShape:
    """Return whether the stone is crushed or rounded: as given, else as the stone named is."""
    named = stone_named(given.stone) if given.stone is not None else None
    return given.stone_shape or (named.shape if named is not None else "crushed")


def given_voids(given: model.Well) -> float | None:
    """Return the voids that a job gives, as a share of the whole volume: by themselves or as a void ratio."""
    if given.voids is not None:
        return given.voids.value_si
    return porosity_of_void_ratio(given.void_ratio) if given.void_ratio is not None else None


def voids(given: model.Well, path: str, ledger: Ledger) -> float:
    """Return the voids of a well's stone; those of crushed and of rounded stone differ where nobody measured them."""
    found = given_voids(given)
    if found is not None:
        return ledger.given(path, found)
    return ledger.assume(path, "voids" if shape_of(given) == "crushed" else "voids-rounded")


def soil_beside(job: model.Job, *, ground_m: float, top_m: float, bottom_m: float) -> Grains:
    """Return the grains of the soil beside a pit from ``top_m`` down to ``bottom_m``."""
    return grains(
        job.soil, ground_m - top_m, ground_m - bottom_m, tables.limit("cohesive-plasticity").value_si
    )


def soil_beside_well(job: model.Job, well: Well) -> Grains:
    """Return the grains of the soil beside a well."""
    return soil_beside(job, ground_m=well.ground_m, top_m=well.stone_top_m, bottom_m=well.bottom_m)


def asked_of_fabric(soil: Grains) -> tuple[fabrics.FilterRow, ...]:
    """Return the rows of the table in which a soil may lie, coarse first; all of them where nobody knows."""
    if soil.fines is None:
        return fabrics.filter_rows()
    return fabrics.rows_between(soil.fines.low, soil.fines.high)


def widest_opening_m(row: fabrics.FilterRow, soil: Grains) -> float:
    """Return the widest opening of a fabric against a soil; against cohesive soil it may be wider."""
    return (
        max(row.opening_m, tables.limit("fabric-opening-cohesive").value_si)
        if soil.cohesive
        else row.opening_m
    )


def fabric(given: model.Well, soil: Grains, survey: Survey, id: str, ledger: Ledger) -> Fabric:
    """Return the fabric of a well: as given, else one that does in every soil that this one may be."""
    if (assumed := soil.assumed) is not None:
        ledger.assume_row(assumed, 0.0)
    rows = asked_of_fabric(soil)
    opening, passes, strength = (
        given.geotextile_opening,
        given.geotextile_permittivity,
        given.geotextile_class,
    )
    ledger.origin[f"{id}.fabric.strength_class"] = "given" if strength is not None else "designed"
    return Fabric(
        strength_class=strength or int(default_part("geotextile-class", survey)),
        opening_m=ledger.given(f"{id}.fabric.opening_m", opening.value_si)
        if opening is not None
        else ledger.designed(f"{id}.fabric.opening_m", min(widest_opening_m(row, soil) for row in rows)),
        permittivity_per_s=ledger.given(f"{id}.fabric.permittivity_per_s", passes.value_si)
        if passes is not None
        else ledger.designed(f"{id}.fabric.permittivity_per_s", max(row.permittivity_per_s for row in rows)),
    )


def top_stone_m(given: model.Well, room_m: float, id: str, ledger: Ledger) -> float:
    """Return how much stone lies loose over a sheet where stone comes to the lawn: no more than lies over the bodies."""
    path = f"{id}.top_stone_m"
    if given.top_stone is not None:
        return min(ledger.given(path, given.top_stone.value_si), max(0.0, room_m))
    return min(ledger.assume(path, "top-stone"), max(0.0, room_m))
