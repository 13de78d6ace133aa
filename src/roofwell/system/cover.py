"""The cover that each station of a run wants, and what wants it: lawn, walks, drives, frost where the job asks."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from roofwell.physics.trench import route
from roofwell.system.facts import FeatureFact, Survey
from roofwell.system.scheme import XY

BESIDE_M = 0.3  # a walk's or drive's cover reaches this far past its edge
DAYLIGHT_TAPER_M = 2.5
PAVED = ("walk", "drive")
DAYLIGHT = "daylight"


def paved(survey: Survey) -> tuple[tuple[FeatureFact, shapely.Geometry], ...]:
    """Return the walks and drives, each with the ground whose cover it rules."""
    return _paved(survey.of_kind(*PAVED))


@lru_cache(maxsize=16)
def _paved(features: tuple[FeatureFact, ...]) -> tuple[tuple[FeatureFact, shapely.Geometry], ...]:
    return tuple(
        (feature, shapely.Polygon(feature.points).buffer(BESIDE_M))
        for feature in features
        if feature.shape == "outline" and len(feature.points) >= 3
    )


def edges(path: Sequence[XY], survey: Survey) -> tuple[float, ...]:
    """Return the stations where a path comes under a walk or drive and out again."""
    return _edges(tuple(path), survey.of_kind(*PAVED))


@lru_cache(maxsize=1024)
def _edges(path: tuple[XY, ...], features: tuple[FeatureFact, ...]) -> tuple[float, ...]:
    line = shapely.LineString(path)
    return tuple(
        station
        for _, ground in _paved(features)
        if line.intersects(ground)
        for stretch in route.crossings(path, ground)
        for station in stretch
    )


def wanted(
    *,
    stations_m: np.ndarray,
    points: np.ndarray,
    survey: Survey,
    frost_m: float | None,
    daylight_taper_from_m: float | None,
    outside_diameter_m: float,
) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """Return least cover (m) and what wants it, station by station.

    Of several that speak of one place the deepest counts. What wants it is ``lawn``, ``walk:K1``,
    ``drive:V1``, ``frost`` or ``daylight``, where a run comes out of the ground and wants none.

    Parameters
    ----------
    stations_m, points
        Shapes (k,) and (k, 2).
    frost_m
        Depth that the top of the pipe must keep, or None where the job does not ask.
    daylight_taper_from_m
        Station from which a run comes out to daylight, or None.
    """
    cover = np.full(len(stations_m), survey.settings["cover_lawn"])
    by = np.full(len(stations_m), "lawn", dtype=object)

    def want(where: np.ndarray, depth_m: float, name: str) -> None:
        more = where & (cover < depth_m)
        cover[more] = depth_m
        by[more | (where & (cover == depth_m))] = name

    for feature, ground in paved(survey):
        inside = shapely.intersects_xy(ground, points[:, 0], points[:, 1])
        want(inside, survey.settings[f"cover_{feature.kind}"], f"{feature.kind}:{feature.id}")
    if frost_m is not None:
        more = cover < frost_m
        cover[more], by[more] = frost_m, "frost"
    if daylight_taper_from_m is not None:
        out = stations_m > daylight_taper_from_m
        cover[out], by[out] = -outside_diameter_m, DAYLIGHT
    return tuple(float(c) for c in cover), tuple(str(name) for name in by)
