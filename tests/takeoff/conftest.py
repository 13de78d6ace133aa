"""Hand-made Schemes for the take-off. Every house here is invented."""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest

from roofwell import tables
from roofwell.system.dug_by import usual
from roofwell.system.scheme import Basin, Downspout, Outlet, Overflow, Run, Scheme, Well, Wye

FOOT, INCH = 0.3048, 0.0254
BOUGHT_BY = ("waste", "swell", "lap", "stone_density")
OUTSIDE_IN = {  # typed from the materials sheet 3.1; a pipe that the tables know
    ("sdr-35", 4): 4.215,
    ("sdr-35", 6): 6.275,
    ("thin-wall", 3): 3.250,
    ("thin-wall", 4): 4.215,
    ("thin-wall", 6): 6.275,
    ("schedule-40", 3): 3.500,
    ("schedule-40", 4): 4.500,
    ("schedule-40", 6): 6.625,
    ("corrugated", 4): 4.65,
    ("corrugated", 6): 6.95,
}


class Hand:
    """Builders in feet and inches, so that a test reads as the trade writes."""

    @staticmethod
    def survey(style: str = "us", **settings: float) -> Any:
        kept = {name: tables.assumption(name.replace("_", "-"), style).value_si for name in BOUGHT_BY}  # type: ignore[arg-type]
        return SimpleNamespace(style=style, settings=usual(style) | kept | settings)  # type: ignore[arg-type]

    @staticmethod
    def run(id: str, a: str, b: str, path: list[tuple[float, float]], **more: Any) -> Run:
        length = sum(((x - u) ** 2 + (y - v) ** 2) ** 0.5 for (u, v), (x, y) in pairwise(path))
        pipe, nominal = more.get("pipe", "sdr-35"), more.get("nominal_in", 4)
        outside = OUTSIDE_IN[pipe, nominal]
        up, down = more.get("up_ft", 97.6), more.get("down_ft", 97.2)
        ground = more.get("ground_ft", (99.0, 99.0))
        return Run(
            id=id,
            from_id=a,
            to_id=b,
            path=tuple((x * FOOT, y * FOOT) for x, y in path),
            length_m=length * FOOT,
            pipe=pipe,
            nominal_m=nominal * INCH,
            inside_diameter_m=(outside - 0.24) * INCH,
            outside_diameter_m=outside * INCH,
            manning_n=0.01,
            upstream_invert_m=up * FOOT,
            downstream_invert_m=down * FOOT,
            fittings=more.get("fittings", ()),
            stations_m=(0.0, length * FOOT),
            ground_m=(ground[0] * FOOT, ground[1] * FOOT),
            cover_least_m=(0.3, 0.3),
            crossings=(),
            upstream_inlet_m=up * FOOT,
        )

    @staticmethod
    def spout(
        id: str, at: tuple[float, float], joint_ft: float = 99.3, shape: str = "rectangular"
    ) -> Downspout:
        return Downspout(
            id=id,
            at=(at[0] * FOOT, at[1] * FOOT),
            ground_m=99.0 * FOOT,
            joint_m=joint_ft * FOOT,
            roof_area_m2=50.0,
            roofs=("R1",),
            gutter=None,
            shape=shape,  # type: ignore[arg-type]
            width_m=3 * INCH,
            breadth_m=2 * INCH,
        )

    @staticmethod
    def wye(id: str, at: tuple[float, float]) -> Wye:
        return Wye(id, (at[0] * FOOT, at[1] * FOOT), 99.0 * FOOT, 97.2 * FOOT)

    @staticmethod
    def basin(id: str, at: tuple[float, float], **more: Any) -> Basin:
        width = more.get("width_in", 24) * INCH
        return Basin(
            id=id,
            at=(at[0] * FOOT, at[1] * FOOT),
            ground_m=98.6 * FOOT,
            shape=more.get("shape", "round"),
            width_m=width,
            plan_area_m2=width**2 * 0.785398,
            floor_m=more.get("floor_ft", 95.6) * FOOT,
            grate_m=98.6 * FOOT,
            inlet_invert_m=97.2 * FOOT,
            outlet_invert_m=97.1 * FOOT,
            hood=True,
            screen=False,
            weep_holes=0,
            weep_hole_diameter_m=0.0,
        )

    @staticmethod
    def well(id: str, at: tuple[float, float], **more: Any) -> Well:
        bottom = more.get("bottom_ft", 92.95)
        length = more.get("pit_ft", (10.0, 6.0))
        return Well(
            id=id,
            at=(at[0] * FOOT, at[1] * FOOT),
            ground_m=more.get("ground_ft", 97.95) * FOOT,
            bodies=more.get("bodies", 1),
            body_diameter_m=more.get("body_in", (24, 48))[0] * INCH,
            body_height_m=more.get("body_in", (24, 48))[1] * INCH,
            body_spacing_m=0.9,
            hole_diameter_m=0.5 * INCH,
            direction_rad=0.0,
            pit_shape=more.get("pit_shape", "rectangular"),
            pit_length_m=length[0] * FOOT,
            pit_width_m=length[1] * FOOT,
            bottom_m=bottom * FOOT,
            stone_below_m=more.get("below_ft", 0.0) * FOOT,
            stone_above_m=0.0,
            stone_top_m=(bottom + more.get("stone_ft", 4.0)) * FOOT,
            inlet_invert_m=96.72 * FOOT,
            lip_m=97.35 * FOOT,
            stone=more.get("stone", "57"),
            voids=0.40,
            geotextile=more.get("geotextile", ("sides", "top")),
            soakage="bottom",
            layers=(),
        )

    @staticmethod
    def overflow(
        id: str, of: str, at: tuple[float, float], kind: str = "grate", to: str | None = None
    ) -> Overflow:
        return Overflow(
            id, of, kind, (at[0] * FOOT, at[1] * FOOT), 97.35 * FOOT, 4 * INCH, 0.5, to, None, 3.0
        )

    @staticmethod
    def outlet(id: str, at: tuple[float, float], kind: str = "daylight") -> Outlet:
        return Outlet(id, kind, (at[0] * FOOT, at[1] * FOOT), 97.0 * FOOT, 96.5 * FOOT, None)

    @staticmethod
    def scheme(**parts: Any) -> Scheme:
        names = ("downspouts", "wyes", "basins", "wells", "overflows", "outlets", "runs")
        return Scheme(
            **{name: tuple(parts.get(name, ())) for name in names},
            undrained_area_m2=0.0,
            broken=(),
            origin={},
        )

    def house(self, **more: Any) -> Scheme:
        """Two downspouts, a wye, a basin, a well with its overflow: the trade's example job and a wye."""
        return self.scheme(
            downspouts=[self.spout("D1", (0, 0)), self.spout("D2", (20, 6), shape="round")],
            wyes=[self.wye("Y1", (20, 0))],
            basins=[self.basin("B1", (32, 0))],
            wells=[self.well("W1", (70, 0))],
            overflows=[self.overflow("O1", "W1", (90, 0), "pop-up emitter")],
            runs=[
                self.run("P1", "D1", "Y1", [(0, 0), (20, 0)], **more.get("P1", {})),
                self.run("P2", "D2", "Y1", [(20, 6), (20, 0)], **more.get("P2", {})),
                self.run("P3", "Y1", "B1", [(20, 0), (32, 0)], **more.get("P3", {})),
                self.run("P4", "B1", "W1", [(32, 0), (70, 0)], up_ft=97.1, down_ft=96.72),
            ],
        )


@pytest.fixture(scope="session")
def hand() -> Hand:
    """Builders of hand-made Schemes."""
    return Hand()
