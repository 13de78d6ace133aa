"""How a well's soakage is counted: the tested rate over credited faces, or the soil's conductivity to all sides.

Every model becomes a curve of soakage over volume for the kernel. Those by faces are exact; the three-dimensional one is
followed by straight lines whose error changes sign and stays within ``CURVE_TOLERANCE`` of the full well's soakage.
"""

from __future__ import annotations

from typing import get_args

import numpy as np

from roofwell.physics.kept import kept
from roofwell.physics.soil import around_well
from roofwell.physics.soil.permeameter import LEAST_HEAD_OVER_RADIUS, MOST_HEAD_OVER_RADIUS
from roofwell.physics.well import soakage, storage
from roofwell.physics.well.soakage import Credit
from roofwell.system.behaviour import FloatArray
from roofwell.system.facts import Soil
from roofwell.system.scheme import ByConductivity, SoakageModel, Well
from roofwell.system.soil_layers import pit_rates

CURVE_TOLERANCE = 1e-3
Curve = tuple[FloatArray, FloatArray, FloatArray]


def by_conductivity(model: str) -> bool:
    """Say whether a model counts with the conductivity and not with the rate."""
    return model in get_args(ByConductivity)


def by_the_soil(soil: Soil, well: Well) -> ByConductivity | None:
    """Return how the soil's own conductivity counts for a well: to all sides where that holds for it, else under a
    gradient of one, which lies on the low side; None where no conductivity is known."""
    models: tuple[ByConductivity, ...] = ("three-dimensional", "unit gradient")
    return next((model for model in models if not why_not(soil, well, model)), None)


def why_not(soil: Soil, well: Well, model: SoakageModel) -> str:
    """Return why a model does not hold for a well in its soil; empty where it does. By faces every one holds."""
    if not by_conductivity(model):
        return ""
    if soil.conductivity_used_m_s is None:
        return "no test gives the soil's conductivity"
    if soil.layers:
        return "the soil's layers have rates of their own, and no conductivity"
    if model == "three-dimensional":
        depth, radius = wetted_depth_m(well), radius_m(well)
        if not around_well.within_fits(depth_m=depth, radius_m=radius):
            return (
                f"full, its water stands {depth / radius:.2g} radii deep in the stone; the formula holds from "
                f"{LEAST_HEAD_OVER_RADIUS:g} to {MOST_HEAD_OVER_RADIUS:g}"
            )
    return ""


def radius_m(well: Well) -> float:
    """Return the radius of the pit, of a rectangular one that of the circle with its floor's area, m."""
    return around_well.equivalent_radius_m(floor_m2=well.layers[0].pit_area_m2)


def wetted_depth_m(well: Well) -> float:
    """Return how deep the water stands in the stone of the full well, m; in the riser above it nothing soaks."""
    return min(well.layers[-1].top_m, well.stone_top_m - well.bottom_m)


def soakage_curve(soil: Soil, well: Well, rate_m_s: float) -> Curve:
    """Return the well's soakage by its own model: volumes (m³), soakage just above and just below each (m³/s).

    Parameters
    ----------
    soil, well
        The soil and the well; where the model does not hold (`why_not`) the curve is a stand-in on its low side, and
        without any conductivity the rate stands for it.
    rate_m_s
        Rate that is counted with, over the safety factor, m/s; the conductivity is scaled as this is to the best rate.
    """
    match well.soakage:
        case "three-dimensional":
            volumes, above, below = _to_all_sides(soil, well, _counted_conductivity_m_s(soil, rate_m_s))
        case "unit gradient":
            volumes, above, below = _all_it_wets(well, _counted_conductivity_m_s(soil, rate_m_s))
        case credit:
            volumes, above, below = _by_faces(soil, well, credit, rate_m_s)
    # summed over more layers the full volume may come out a last digit more than the well holds
    volumes[-1] = storage.full_volume_m3(well.layers)
    return volumes, above, below


def _counted_conductivity_m_s(soil: Soil, rate_m_s: float) -> float:
    known = soil.conductivity_used_m_s
    if known is None or soil.best_m_s <= 0:
        return rate_m_s if known is None else known / soil.safety_factor
    return known * rate_m_s / soil.best_m_s


def _by_faces(soil: Soil, well: Well, credit: Credit, rate_m_s: float) -> Curve:
    """The tested rate, layer by layer, over the faces that are credited."""
    factor = soil.safety_factor
    layers, rates, bottom = pit_rates(
        soil,
        well.layers,
        pit_depth_m=well.ground_m - well.bottom_m,
        stone_height_m=well.stone_top_m - well.bottom_m,
        at_large_m_s=rate_m_s * factor,
    )
    return soakage.soakage_curve(
        layers,
        [rate / factor for rate in rates],
        credit,
        full_depth_m=well.layers[-1].top_m,
        bottom_rate_m_s=bottom / factor,
    )


def _all_it_wets(well: Well, conductivity_m_s: float) -> Curve:
    """The conductivity under a gradient of one over all that the water wets; above the stone nothing soaks."""
    stone = well.stone_top_m - well.bottom_m
    layers = storage.cut_layers(well.layers, [stone])
    rates = [conductivity_m_s if layer.bottom_m < stone - 1e-9 else 0.0 for layer in layers]
    return soakage.soakage_curve(
        layers,
        rates,
        "bottom and sides",
        full_depth_m=well.layers[-1].top_m,
        bottom_rate_m_s=conductivity_m_s,
    )


def _to_all_sides(soil: Soil, well: Well, conductivity_m_s: float) -> Curve:
    """The three-dimensional flow, the water above the stone or beyond the fits counted as standing at their end."""
    radius, most = radius_m(well), wetted_depth_m(well)
    most = min(most, MOST_HEAD_OVER_RADIUS * radius)
    volumes, above, below = _per_conductivity(well.layers, radius, most, soil.capillarity_per_m)
    return volumes.copy(), conductivity_m_s * above, conductivity_m_s * below


@kept(1024)
def _per_conductivity(
    layers: tuple[storage.Layer, ...], radius_m: float, most_m: float, alpha_star_per_m: float
) -> Curve:
    """The curve of a conductivity of 1 m/s: all others are that many times it, and a search asks for the same wells."""

    def area(depths_m: FloatArray) -> FloatArray:
        return around_well.flow_around_well_m2(
            depths_m=np.clip(depths_m, 0.0, most_m),
            radius_m=radius_m,
            alpha_star_per_m=alpha_star_per_m,
        )

    return soakage.soakage_curve(
        storage.cut_layers(layers, [LEAST_HEAD_OVER_RADIUS * radius_m, most_m]),
        1.0,
        area,
        full_depth_m=layers[-1].top_m,
        tolerance=CURVE_TOLERANCE,
    )
