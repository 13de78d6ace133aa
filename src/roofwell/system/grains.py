"""How fine the soil at a well is: sieved, else from the definition of its texture as a range, else not known."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from roofwell import units
from roofwell.job import model
from roofwell.physics.well.filter import grain_size_m
from roofwell.system.facts import AssumedValue
from roofwell.tables import fabrics
from roofwell.units import Quantity

PATH = "soil.grains"
HOW = "have a lab wash and sieve a bag of it; write soil.passing_no_200, soil.grain_d85"


@dataclass(frozen=True, slots=True)
class Between:
    """A figure with the ends that it may have; all three are the same where it was measured."""

    low: float
    best: float
    high: float


@dataclass(frozen=True, slots=True)
class Grains:
    """Grains of a soil. ``fines``: share that passes No. 200; sizes in m, None where nobody knows them.

    ``textures`` are the classes from whose definition a figure was taken; ``cohesive`` is None where nobody knows.
    """

    fines: Between | None
    d15_m: Between | None
    d50_m: Between | None
    d85_m: Between | None
    textures: tuple[str, ...]
    cohesive: bool | None

    @property
    def assumed(self) -> AssumedValue | None:
        """What is taken from a texture, as papers print it."""
        if not self.textures or self.fines is None:
            return None
        text = f"{units.show_percent(self.fines.best)} through No. 200"
        if self.fines.low < self.fines.high:
            text += f" ({units.show_percent(self.fines.low)} to {units.show_percent(self.fines.high)})"
        what = f"how fine {' and '.join(self.textures)} is, by the definition of its class"
        return AssumedValue(PATH, text, what, HOW, "texture-classes")


def grains(soil: model.Soil, top_depth_m: float, bottom_depth_m: float, plastic_from: float) -> Grains:
    """Return the grains of the soil beside a pit between two depths below the ground, m.

    What was sieved counts; for the rest the texture of the layers that the pit cuts, else that of the soil at large. Of
    several layers the finest gives the middle figure, since it asks for most. Silt and clay of a texture (below
    0.05 mm) are taken for what passes No. 200 (0.075 mm): a sliver of very fine sand is left out.
    """
    names: list[str | None] = [
        layer.texture
        for layer in soil.layers
        if layer.texture is not None
        and layer.top.value_si < bottom_depth_m
        and layer.bottom.value_si > top_depth_m
    ]
    rows = [row for name in names or [soil.texture] if (row := fabrics.grains_of(name)) is not None]
    rows = list(dict.fromkeys(rows))
    figures = {
        "fines": _given(soil.passing_no_200),
        "d15": _given(soil.grain_d15),
        "d50": _given(soil.grain_d50),
        "d85": _given(soil.grain_d85),
    }
    used = bool(rows) and any(value is None for value in figures.values())
    if rows:
        low = min(row.silt_clay[0] for row in rows)
        high = max(row.silt_clay[1] for row in rows)
        figures["fines"] = figures["fines"] or Between(low, max(sum(r.silt_clay) / 2 for r in rows), high)
        for key, share in (("d15", 0.15), ("d50", 0.50), ("d85", 0.85)):
            figures[key] = figures[key] or _size(tuple(rows), share)
    index = soil.plasticity_index
    return Grains(
        figures["fines"],
        figures["d15"],
        figures["d50"],
        figures["d85"],
        tuple(row.texture for row in rows) if used else (),
        None if index is None else index > plastic_from,
    )


def _given(quantity: Quantity | None) -> Between | None:
    return None if quantity is None else Between(*(quantity.value_si,) * 3)


@lru_cache(maxsize=256)
def _size(rows: tuple[fabrics.TextureGrains, ...], share: float) -> Between:
    """The size that a share is finer than: of the finest, the middle and the coarsest soil that the classes allow."""

    def size(clay: float, silt_clay: float) -> float:
        return grain_size_m(clay=min(clay, silt_clay), silt_clay=silt_clay, wanted_fraction=share)

    return Between(
        min(size(row.clay[1], row.silt_clay[1]) for row in rows),
        min(size(sum(row.clay) / 2, sum(row.silt_clay) / 2) for row in rows),
        max(size(row.clay[0], row.silt_clay[0]) for row in rows),
    )
