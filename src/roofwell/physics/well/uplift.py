"""Will groundwater lift a closed basin or a light body out of the ground while it stands empty?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError

WATER_DENSITY_KG_M3 = 1000.0


@dataclass(frozen=True, slots=True)
class Uplift:
    """Uplift and what resists it, both as masses, kg; ``safety`` is their ratio, infinite where nothing lifts."""

    uplift_kg: float
    resisting_kg: float

    @property
    def safety(self) -> float:
        """Resisting weight over uplift."""
        return self.resisting_kg / self.uplift_kg if self.uplift_kg > 0.0 else math.inf


def uplift(
    *,
    plan_area_m2: float,
    height_m: float,
    water_over_base_m: float,
    own_mass_kg: float,
    cover_m: float = 0.0,
    cover_density_kg_m3: float = 0.0,
    cover_saturated_density_kg_m3: float | None = None,
    fills: bool = False,
) -> Uplift:
    """Return uplift and resisting weight of an empty box under the water table.

    Parameters
    ----------
    plan_area_m2
        Outside area of the box in plan, m²; above 0.
    height_m
        Outside height of the box, m; above 0.
    water_over_base_m
        Height of the groundwater over the box's base, m; negative below it.
    own_mass_kg
        Mass of the box with all that is fixed to it, kg; 0 or more.
    cover_m, cover_density_kg_m3
        Depth of soil or stone over the box, m, and its density as it lies, kg/m³; 0 or more.
    cover_saturated_density_kg_m3
        Density of the cover under water, its pores full, kg/m³; needed where the water stands in the cover.
    fills
        True: the ground's water stands inside as high as outside, so that nothing lifts but the box's own walls,
        which is left out.

    Raises
    ------
    InputError
        ``uplift-number`` outside those ranges.

    Notes
    -----
    Uplift is the weight of the water that the box displaces; it is resisted by the box's own weight and by the
    soil right over it, under water counted less the water's weight. Friction on the walls is left out: safe.
    Source: first principles; convention of a trade-association white paper of 2018 (seen).

    >>> box = uplift(plan_area_m2=1.0, height_m=1.0, water_over_base_m=0.5, own_mass_kg=250.0)
    >>> box.uplift_kg, box.safety
    (500.0, 0.5)
    """
    for name, value, least in (
        ("plan area", plan_area_m2, 1e-9),
        ("height", height_m, 1e-9),
        ("own mass", own_mass_kg, 0.0),
        ("cover", cover_m, 0.0),
        ("density of the cover", cover_density_kg_m3, 0.0),
    ):
        if not least <= value < math.inf:
            raise InputError(
                f"{name} of {value}; give a number {'above' if least else 'of at least'} 0",
                code="uplift-number",
            )
    if not math.isfinite(water_over_base_m):
        raise InputError(
            f"groundwater {water_over_base_m} m over the base; give a number", code="uplift-number"
        )
    wet_cover = min(max(water_over_base_m - height_m, 0.0), cover_m)
    saturated = cover_saturated_density_kg_m3
    if wet_cover > 0.0 and (saturated is None or saturated < WATER_DENSITY_KG_M3):
        raise InputError(
            f"density of the soaked cover of {saturated} kg/m³; give that of the soil with its pores full of water",
            code="uplift-number",
        )
    buoyant = (saturated - WATER_DENSITY_KG_M3) if saturated is not None else 0.0
    cover = plan_area_m2 * ((cover_m - wet_cover) * cover_density_kg_m3 + wet_cover * buoyant)
    immersed = 0.0 if fills else min(max(water_over_base_m, 0.0), height_m)
    return Uplift(WATER_DENSITY_KG_M3 * plan_area_m2 * immersed, own_mass_kg + cover)
