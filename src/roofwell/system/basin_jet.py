"""A basin in any rain: how much water goes through it, and how fast it is over what lies on the bottom."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from roofwell.physics.basin.jet import at_deposit_m_s
from roofwell.physics.pipe.flow import full_flow_m3_s, part_full_flow
from roofwell.system.behaviour import FloatArray
from roofwell.system.pipe_ends import end_invert_m
from roofwell.system.scheme import Basin, Downspout, Run, Scheme

DEPTHS = np.linspace(0.02, 0.93, 24)  # of the diameter; above, a round pipe carries no more


@dataclass(frozen=True, slots=True)
class Inlet:
    """A pipe into a basin: its downspouts (roof area, m², and what they take at most, m³/s), its velocity by its flow,
    and the height of its mouth's invert over the outlet's."""

    spouts: tuple[tuple[float, float], ...]
    diameter_m: float
    carries_m3_s: FloatArray
    runs_m_s: FloatArray
    fall_m: float

    def flow_m3_s(self, rate_m_s: FloatArray) -> FloatArray:
        """Return the flow in this pipe at each rate of runoff."""
        return _flow(self.spouts, rate_m_s)

    def velocity_m_s(self, flow_m3_s: FloatArray) -> FloatArray:
        """Return the velocity of the water in this pipe: normal flow, full where it carries more."""
        full = flow_m3_s / (0.25 * math.pi * self.diameter_m**2)
        if not len(self.carries_m3_s):
            return full
        return np.maximum(full, np.interp(flow_m3_s, self.carries_m3_s, self.runs_m_s))


def _flow(spouts: tuple[tuple[float, float], ...], rate_m_s: FloatArray) -> FloatArray:
    out = np.zeros(len(rate_m_s))
    for area, limit in spouts:
        out += np.minimum(rate_m_s * area, limit)
    return out


@dataclass(frozen=True, slots=True)
class BasinWater:
    """A basin with the water that comes to it."""

    basin: Basin
    spouts: tuple[tuple[float, float], ...]
    inlets: tuple[Inlet, ...]

    @property
    def area_m2(self) -> float:
        """Roof whose water passes this basin, m²."""
        return sum(area for area, _ in self.spouts)

    @property
    def fall_m(self) -> float | None:
        """Height of the lowest inlet's invert over the outlet's, m; None without an inlet pipe."""
        return min((inlet.fall_m for inlet in self.inlets), default=None)

    def flow_m3_s(self, rate_m_s: FloatArray) -> FloatArray:
        """Return the flow through the basin at each rate of runoff (m/s), m³/s."""
        return _flow(self.spouts, rate_m_s)

    def jet_m_s(self, rate_m_s: FloatArray, full: float) -> FloatArray:
        """Return the velocity over the deposit at each rate of runoff, the sump being ``full`` (0 to 1)."""
        out = np.zeros(len(rate_m_s))
        depth = max(0.0, (1.0 - full) * self.basin.sump_m)
        for inlet in self.inlets:
            flow = inlet.flow_m3_s(rate_m_s)
            jet = at_deposit_m_s(
                flow_m3_s=flow,
                velocity_m_s=inlet.velocity_m_s(flow),
                pipe_diameter_m=inlet.diameter_m,
                fall_m=inlet.fall_m,
                depth_m=depth,
                across_m=self.basin.along_m,
            )
            out = np.maximum(out, jet)
        return out

    def with_basin(self, **changes: Any) -> BasinWater:
        """Return the same water in a basin that is changed."""
        return replace(self, basin=replace(self.basin, **changes))


def inlet_at_water(water: BasinWater) -> BasinWater:
    """Return the basin with every inlet at the level of the standing water, where it neither dives nor sweeps."""
    basin = replace(water.basin, inlet_invert_m=water.basin.outlet_invert_m)
    return BasinWater(basin, water.spouts, tuple(replace(inlet, fall_m=0.0) for inlet in water.inlets))


def basin_water(scheme: Scheme, basin: Basin, limit_m3_s: Mapping[str, float]) -> BasinWater:
    """Return a basin with the water that comes to it.

    ``limit_m3_s``: what gutter and downspout take at most, by downspout. Inlets whose levels are not known count none.
    """

    def feeds(spouts: tuple[Downspout, ...]) -> tuple[tuple[float, float], ...]:
        return tuple((spout.roof_area_m2, limit_m3_s[spout.id]) for spout in spouts if spout.roof_area_m2 > 0)

    inlets = []
    for run in scheme.runs_to(basin.id):
        fall = end_invert_m(scheme, run, "downstream") - basin.outlet_invert_m
        if math.isfinite(fall):
            carries, runs = _velocities(run)
            inlets.append(
                Inlet(feeds(scheme.upstream_downspouts(run.id)), run.inside_diameter_m, carries, runs, fall)
            )
    return BasinWater(basin, feeds(scheme.upstream_downspouts(basin.id)), tuple(inlets))


def _velocities(run: Run) -> tuple[FloatArray, FloatArray]:
    """Flow and velocity of a pipe at depths up to the one at which it carries most; none where it does not fall."""
    if (
        not run.slope_m_m > 0
        or full_flow_m3_s(
            inside_diameter_m=run.inside_diameter_m, slope=run.slope_m_m, manning_n=run.manning_n
        )
        <= 0
    ):
        return np.zeros(0), np.zeros(0)
    found = [
        part_full_flow(
            inside_diameter_m=run.inside_diameter_m,
            depth_m=float(share) * run.inside_diameter_m,
            slope=run.slope_m_m,
            manning_n=run.manning_n,
        )
        for share in DEPTHS
    ]
    return np.array([f.flow_m3_s for f in found]), np.array([f.velocity_m_s for f in found])
