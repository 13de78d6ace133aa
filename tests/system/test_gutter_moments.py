"""Water in a gutter at a moment of the rain, against a textbook's level box and by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from roofwell.system.gutter_moments import GutterNow, cloudburst_depth_m, gutter_now
from roofwell.system.gutters import spout_flow
from roofwell.system.scheme import Downspout, Gutter

INCH = 0.0254
GPM = 231 * INCH**3 / 60
GRAVITY = 9.80665
AREA_M2 = 60.0

BOX = Gutter("G1", "box", 5 * INCH, 5 * INCH, 3.5 * INCH, 0.0, 0.0, False, 1.0)
"""A level smooth box 5 in wide and 3 1/2 in deep: no length is known, so no friction is counted."""


def _spout(gutter: Gutter | None = BOX) -> Downspout:
    """A downspout so wide that the gutter lets its water fall freely."""
    return Downspout(
        "D1", (0.0, 0.0), 30.0, 30.1, AREA_M2, ("R1",), gutter, "round", 12 * INCH, 12 * INCH
    )  # fmt: skip


def _at(gpm: float, spout: Downspout, peak_gpm: float = 20.0) -> GutterNow:
    found = gutter_now(spout, spout_flow(spout, peak_gpm * GPM), gpm * GPM / AREA_M2)
    assert found is not None
    return found


@pytest.mark.parametrize("gpm", [2.0, 10.0, 25.0, 40.0, 60.0, 73.0])
def test_at_the_closed_end_of_a_level_box_stand_root_three_critical_depths(gpm: float) -> None:
    """Textbook of hydraulic structures, as in published/test_gutter_profile.py (G2): 1.73205 critical depths, and the
    critical depth of a box is (Q^2 / g b^2)^(1/3)."""
    critical = ((gpm * GPM) ** 2 / (GRAVITY * (5 * INCH) ** 2)) ** (1 / 3)
    assert _at(gpm, _spout()).depth_m == pytest.approx(1.73205 * critical, abs=0.4e-3)


def test_what_is_more_than_a_full_box_goes_over_its_brim() -> None:
    """The same book (G4, as published/test_gutter_profile.py): 3.5 in deep at 73.30 gpm; 80 gpm are 6.7 gpm too many."""
    full = _at(80.0, _spout())
    assert full.depth_m == pytest.approx(3.5 * INCH)
    assert full.over_m3_s / GPM == pytest.approx(80.0 - 73.30, abs=0.05)
    assert _at(73.2, _spout()).over_m3_s == 0.0


def test_water_that_a_guard_keeps_out_does_not_fill_the_gutter() -> None:
    """A guard that lets in half of a cloudburst of 40 gpm lets in no more than 20 gpm of a heavier rain: 40 go over it."""
    guarded = _spout(replace(BOX, guard=True, guard_passes=0.5))
    found = _at(60.0, guarded, peak_gpm=40.0)
    assert found.over_m3_s / GPM == pytest.approx(40.0)
    assert found.depth_m == pytest.approx(_at(20.0, _spout()).depth_m, abs=0.2e-3)


def test_a_dry_moment_and_a_downspout_without_a_gutter() -> None:
    assert _at(0.0, _spout()) == GutterNow(0.0, 0.0)
    bare = _spout(None)
    assert gutter_now(bare, spout_flow(bare, 0.001), 1e-5) is None


def test_the_cloudburst_stands_as_deep_as_its_own_rain_does() -> None:
    spout = _spout()
    flow = spout_flow(spout, 40 * GPM)
    assert cloudburst_depth_m(spout, flow) == pytest.approx(_at(40.0, spout).depth_m, abs=0.2e-3)
    assert cloudburst_depth_m(spout, spout_flow(spout, 90 * GPM)) == pytest.approx(3.5 * INCH)
    assert not math.isnan(cloudburst_depth_m(spout, spout_flow(spout, 1e-9)) or 0.0)
