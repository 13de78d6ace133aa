"""The inside of a gutter: area, surface width, wetted perimeter and first moment of the water in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, assert_never

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

GutterShape = Literal["half-round", "box", "ogee"]

Depths = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GutterSection:
    """The inside of a gutter, m.

    ``half-round``: a half circle, ``depth_m`` is half of ``top_width_m`` (left out: taken so).
    ``box``: upright sides; ``bottom_width_m`` equals ``top_width_m`` (left out: taken so).
    ``ogee``: a trapezoid of the same bottom, top and depth as the curved profile; no public standard fixes
    the curve. ``bottom_width_m`` is at most ``top_width_m``.

    Raises
    ------
    InputError
        ``gutter-section`` where a size is missing, not above zero or does not fit the shape.
    """

    shape: GutterShape
    top_width_m: float
    depth_m: float = 0.0
    bottom_width_m: float = 0.0

    def __post_init__(self) -> None:
        match self.shape:
            case "half-round":
                implied_depth_m, implied_bottom_m = self.top_width_m / 2.0, 0.0
            case "box":
                implied_depth_m, implied_bottom_m = self.depth_m, self.top_width_m
            case "ogee":
                implied_depth_m, implied_bottom_m = self.depth_m, self.bottom_width_m
            case _:
                raise InputError(
                    f"gutter shape {self.shape!r} is not known; use half-round, box or ogee",
                    code="gutter-section",
                )
        depth_m, bottom_m = self.depth_m or implied_depth_m, self.bottom_width_m or implied_bottom_m
        fits = (
            all(math.isfinite(size) for size in (self.top_width_m, depth_m, bottom_m))
            and self.top_width_m > 0
            and depth_m > 0
            and abs(depth_m - implied_depth_m) <= 0.01 * depth_m
            and abs(bottom_m - implied_bottom_m) <= 0.01 * self.top_width_m
            and (self.shape == "half-round" or 0 < bottom_m <= self.top_width_m)
        )
        if not fits:
            raise InputError(
                f"{self.shape} gutter {self.top_width_m:g} m wide at the top, {bottom_m:g} m at the bottom "
                f"and {depth_m:g} m deep is no gutter: sizes must be above 0, the bottom no wider than the "
                "top, a box as wide below as above, a half-round half as deep as wide",
                code="gutter-section",
            )
        object.__setattr__(self, "depth_m", implied_depth_m if self.shape == "half-round" else depth_m)
        object.__setattr__(self, "bottom_width_m", implied_bottom_m if self.shape == "box" else bottom_m)

    def area_m2(self, depth_m: float) -> float:
        """Return the area of water ``depth_m`` deep, m²."""
        return float(water_area(self, np.asarray(depth_m, dtype=np.float64)))

    def top_width_at_m(self, depth_m: float) -> float:
        """Return the width of the water surface at ``depth_m``, m."""
        return float(surface_width(self, np.asarray(depth_m, dtype=np.float64)))

    def first_moment_m3(self, depth_m: float) -> float:
        """Return the first moment of the water area about its surface, m³."""
        return float(first_moment(self, np.asarray(depth_m, dtype=np.float64)))

    def wetted_perimeter_m(self, depth_m: float) -> float:
        """Return the wetted perimeter at ``depth_m``, m (a trapezoid taken as symmetrical)."""
        return float(wetted_perimeter(self, np.asarray(depth_m, dtype=np.float64)))


def water_area(section: GutterSection, depth_m: Depths) -> Depths:
    match section.shape:
        case "half-round":
            radius = section.top_width_m / 2.0
            angle = 2.0 * np.arccos(1.0 - depth_m / radius)
            area: Depths = 0.5 * radius**2 * (angle - np.sin(angle))
            return area
        case "box" | "ogee":
            return depth_m * 0.5 * (section.bottom_width_m + surface_width(section, depth_m))
        case _:
            assert_never(section.shape)


def surface_width(section: GutterSection, depth_m: Depths) -> Depths:
    match section.shape:
        case "half-round":
            width: Depths = 2.0 * np.sqrt(depth_m * (section.top_width_m - depth_m))
            return width
        case "box" | "ogee":
            spread = (section.top_width_m - section.bottom_width_m) / section.depth_m
            return section.bottom_width_m + spread * depth_m
        case _:
            assert_never(section.shape)


def first_moment(section: GutterSection, depth_m: Depths) -> Depths:
    width = surface_width(section, depth_m)
    match section.shape:
        case "half-round":
            below_center = section.top_width_m / 2.0 - depth_m
            return width**3 / 12.0 - water_area(section, depth_m) * below_center
        case "box" | "ogee":
            return depth_m**2 * (2.0 * section.bottom_width_m + width) / 6.0
        case _:
            assert_never(section.shape)


def wetted_perimeter(section: GutterSection, depth_m: Depths) -> Depths:
    match section.shape:
        case "half-round":
            radius = section.top_width_m / 2.0
            perimeter: Depths = 2.0 * radius * np.arccos(1.0 - depth_m / radius)
            return perimeter
        case "box" | "ogee":
            side = (section.top_width_m - section.bottom_width_m) / (2.0 * section.depth_m)
            return section.bottom_width_m + 2.0 * depth_m * math.hypot(1.0, side)
        case _:
            assert_never(section.shape)
