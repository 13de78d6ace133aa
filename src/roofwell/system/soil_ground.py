"""What the soil section says about one depth and one day: texture, capillarity class, season, units of a reading."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date

from roofwell import tables
from roofwell.job import model
from roofwell.physics.soil.infiltration import ALPHA_STAR_PER_M
from roofwell.units import Dimension, Quantity, parse

_METRIC = re.compile(r"\d\s*(?:(?:mm|cm|dm|m)(?![a-z])|milli|centi|met(?:er|re))", re.IGNORECASE)
_HAIR_M = 1e-6  # a hole that ends where a layer does stands in that layer
FIRST_CHOICE = "most"  # the class that the field sheet names as the first choice


def row_of(texture: str | None) -> dict[str, str] | None:
    """Return the row of a texture in its table; None where it is not in it."""
    rows = {row["texture"]: row for row in tables.rows("soil_texture")}
    return rows.get(texture.strip().lower()) if texture else None


def texture_at(soil: model.Soil, depth_m: float | None) -> str | None:
    """Return the texture at a depth below the ground: that of its layer, else that of the soil at large."""
    if depth_m is not None:
        for layer in soil.layers:
            within = layer.top.value_si < depth_m <= layer.bottom.value_si + _HAIR_M
            if within and layer.texture is not None:
                return layer.texture
    return soil.texture


def alphas_per_m(soil: model.Soil, given: model.SoilClass | None, depth_m: float | None) -> tuple[float, ...]:
    """Return capillarity (1/m): one class finer, the class itself, one coarser; at an end of the list it repeats."""
    row = row_of(texture_at(soil, depth_m))
    named = given or (row["soil_class"] if row is not None else FIRST_CHOICE)
    names = list(ALPHA_STAR_PER_M)  # from coarse to compacted
    at = names.index(named)
    around = (min(at + 1, len(names) - 1), at, max(at - 1, 0))
    return tuple(ALPHA_STAR_PER_M[names[n]] for n in around)


def capillarity_per_m(soil: model.Soil) -> float:
    """Return capillarity (1/m) for the soil as a whole: the coarsest class that a test names, else by its texture.

    The coarsest pulls least, so a well counted with it takes in no more than by the others.
    """
    lists = (
        soil.auger_tests,
        soil.pit_tests,
        soil.percolation_tests,
        soil.constant_head_tests,
        soil.fill_tests,
    )
    named = [test.soil_class for tests in lists for test in tests if test.soil_class is not None]
    return max((ALPHA_STAR_PER_M[name] for name in named), default=alphas_per_m(soil, None, None)[1])


def water_of_tests_c(soil: model.Soil) -> float | None:
    """Return the temperature of the water that the tested rate holds for, C; None where a test does not tell its own.

    That of ``soil.water_temperature``, to which the tests are then brought, else the one that all tests share.
    """
    lists = (
        soil.auger_tests,
        soil.pit_tests,
        soil.percolation_tests,
        soil.constant_head_tests,
        soil.ring_tests,
        soil.fill_tests,
    )
    own = [test.water_temperature for tests in lists for test in tests]
    known = {temperature.value_si for temperature in own if temperature is not None}
    if soil.rate is not None or not own or any(temperature is None for temperature in own):
        return None
    if soil.water_temperature is not None:
        return soil.water_temperature.value_si
    return known.pop() if len(known) == 1 else None


def wetting_front(texture: str | None) -> tuple[float | None, float | None]:
    """Return suction at the wetting front, m, and effective porosity, as published for a texture, or None."""
    named = texture.strip().lower() if texture else None
    for row in tables.rows("wetting_front"):
        if row["texture"] == named:
            suction = parse(row["suction"], Dimension.LENGTH).value_si
            return suction, parse(row["effective_porosity"], Dimension.RATIO).value_si
    return None, None


def smears(soil: model.Soil, depth_m: float | None) -> bool:
    """Say whether the soil at a depth smears under an auger; False where no texture is known."""
    row = row_of(texture_at(soil, depth_m))
    return row is not None and row["smears"] == "yes"


def in_low_water(day: date | None, latitude: float | None) -> bool:
    """Say whether a day lies in the months in which groundwater stands lowest; without a latitude, in the north."""
    if day is None:
        return False
    half = "south" if latitude is not None and latitude < 0 else "north"
    rows = tables.rows("low_water_months")
    return any(row["hemisphere"] == half and int(row["month"]) == day.month for row in rows)


def out_of_wet_season(day: date | None, latitude: float | None) -> bool:
    """Say whether a day lies outside the months in which offices want water in the ground looked for; no day: no."""
    if day is None:
        return False
    half = "south" if latitude is not None and latitude < 0 else "north"
    rows = tables.rows("wet_season_months")
    return not any(row["hemisphere"] == half and int(row["month"]) == day.month for row in rows)


def two_systems(lengths: Iterable[Quantity | None]) -> bool:
    """Say whether the readings of one test are written in inches or feet and in meters both."""
    return len({bool(_METRIC.search(one.text)) for one in lengths if one is not None}) > 1


def listed(remarks: Sequence[str | None]) -> tuple[str, ...]:
    """Return the remarks that there are."""
    return tuple(remark for remark in remarks if remark)
