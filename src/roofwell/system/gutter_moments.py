"""How deep the water stands in a gutter while it rains at a rate: between its slow start and its brim."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from roofwell.physics.roof.gutter_flow import gutter_water
from roofwell.physics.roof.outlet import GutterOutlet
from roofwell.system import gutters
from roofwell.system.behaviour import DownspoutFlow, FloatArray
from roofwell.system.scheme import Downspout, Gutter

_POINTS = 20  # flows at which the water is worked out; between them its depth is read, to a millimeter
_DEPTH_BY_FLOW = 0.6  # depth grows about as flow to this power: the points lie evenly in depth


@dataclass(frozen=True, slots=True)
class GutterNow:
    """Water in the reach of one downspout's gutter.

    ``depth_m``: over the gutter's floor where it stands deepest, at most to the brim. ``over_m3_s``: what neither gutter,
    outlet nor downspout takes, and a guard does not let in; it leaves over the brim.
    """

    depth_m: float
    over_m3_s: float


def gutter_now(spout: Downspout, flow: DownspoutFlow, rate_m_s: float) -> GutterNow | None:
    """Return the water in a downspout's gutter at a rate of net rain, m/s; None where it has no gutter with sizes.

    Notes
    -----
    Steady flow, as ``physics.roof.gutter_flow`` has it: a step of a storm is taken as long enough for it. What is more than
    the whole way down takes fills the gutter to its brim, but where a guard is what keeps it out.
    """
    gutter = spout.gutter
    if gutter is None or not (gutter.depth_m > 0 and gutter.top_width_m > 0):
        return None
    wanted = max(0.0, rate_m_s * flow.area_m2)
    enters = min(wanted, flow.limit_m3_s)
    over = wanted - enters
    if over > 1e-9 * wanted and flow.governs != "guard":
        return GutterNow(gutter.depth_m, over)
    most, depths = _depths(gutter, gutters.outlet_of(spout))
    place = (enters / most) ** _DEPTH_BY_FLOW
    depth = float(np.interp(place, np.linspace(0.0, 1.0, _POINTS), depths))
    return GutterNow(min(gutter.depth_m, depth), over)


def cloudburst_depth_m(spout: Downspout, flow: DownspoutFlow) -> float | None:
    """Return how deep the water stands in a gutter in the cloudburst where it is deepest, m, at most to the brim."""
    gutter = spout.gutter
    if gutter is None or flow.gutter is None:
        return None
    if flow.peak_m3_s > flow.limit_m3_s and flow.governs != "guard":
        return gutter.depth_m
    return min(gutter.depth_m, gutter.depth_m - gutter.freeboard_m - flow.gutter.brim_margin_m)


@lru_cache(maxsize=256)
def _depths(gutter: Gutter, outlet: GutterOutlet) -> tuple[float, FloatArray]:
    """The flow that reaches the brim, m³/s, and the deepest water of even steps of flow to a power up to it, m; shape (n,).

    A gutter does not change with the rain of a job: kept, so that an edit elsewhere asks for nothing.
    """
    most = gutters.capacity(gutter, outlet).flow_m3_s
    shares = np.linspace(0.0, 1.0, _POINTS) ** (1.0 / _DEPTH_BY_FLOW)
    depths = [0.0]
    section = gutters.section_of(gutter)
    for share in shares[1:].tolist():
        arms, roughness = gutters.arms_of(gutter, share * most)
        water = gutter_water(section, arms, manning_n=roughness, outlet=outlet)
        depths.append(gutter.depth_m - water.brim_margin_m)
    return most, np.asarray(depths, dtype=np.float64)
