"""Water in the pipes of overflows and links: by hand, and by what is known of a round pipe."""

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.design import Design, design
from roofwell.system.side_water import cloudburst_flows, left_m, side_flows

FOOT = 0.3048


@pytest.fixture(scope="module")
def two_wells(
    linked_house: Callable[[], dict[str, Any]], data_folder: Path, read_job: Callable[..., Any]
) -> Design:
    house = linked_house()
    return design(read_job(house), folder=data_folder, document=copy.deepcopy(house), beyond=False)


def test_a_link_stands_at_the_level_of_its_wells(two_wells: Design) -> None:
    level = 94.5 * FOOT
    found = side_flows(two_wells.scheme, well_m={"W1": level, "W2": level}, leaves_m3_s={})
    assert found["W2-W1"].level_up_m == found["W2-W1"].level_down_m == pytest.approx(level)
    low = side_flows(two_wells.scheme, well_m={"W1": 92.2 * FOOT, "W2": 92.6 * FOOT}, leaves_m3_s={})
    assert low["W2-W1"].level_up_m == pytest.approx(93 * FOOT)  # dry: the pipe's own bottom


def test_a_pipe_with_half_of_its_full_flow_runs_half_full(two_wells: Design) -> None:
    """Manning by hand for 4 in, 1.6 ft in 24 ft, n of smooth pipe: Q = A R^(2/3) S^(1/2) / n, R = D/4. A round pipe that is
    half full has half the area and the same hydraulic radius, so half the flow (geometry)."""
    scheme = two_wells.scheme
    (run,) = [pipe for pipe in scheme.side_pipes if pipe.id == "O1"]
    bore, n = 4 * 0.0254, scheme.overflows[0].pipe.manning_n if scheme.overflows[0].pipe else 0.0
    assert run.inside_diameter_m == pytest.approx(bore, rel=0.02)
    full = math.pi * bore**2 / 4 * (bore / 4) ** (2 / 3) * (1.6 / 24) ** 0.5 / n
    found = side_flows(scheme, well_m={"W1": 97.2 * FOOT, "W2": 97.2 * FOOT}, leaves_m3_s={"W1": full / 2})
    flow = found["O1"]
    assert flow.depth_ratio == pytest.approx(0.5, abs=0.01)
    assert flow.slope_class == "steep"  # more than 6 % of slope
    assert flow.level_up_m > 97.0 * FOOT and flow.level_down_m > 95.4 * FOOT
    dry = side_flows(scheme, well_m={"W1": 96 * FOOT, "W2": 96 * FOOT}, leaves_m3_s={})["O1"]
    assert dry.peak_m3_s == 0.0
    assert (dry.level_up_m, dry.level_down_m) == (pytest.approx(97.0 * FOOT), pytest.approx(95.4 * FOOT))


def test_in_the_cloudburst_the_well_stands_over_its_lip(two_wells: Design) -> None:
    found = cloudburst_flows(two_wells.scheme, two_wells.behaviour)
    head = two_wells.behaviour.wells[0].head_over_lip_m
    assert head > 0
    assert found["O1"].peak_m3_s > 0
    assert found["O1"].level_up_m == pytest.approx(97.0 * FOOT + head, abs=2e-3)
    assert found["W2-W1"].level_up_m == pytest.approx(97.0 * FOOT + head, abs=1e-6)


def test_a_low_elbow_keeps_water_and_one_with_a_weep_hole_none(
    _house_text: str, data_folder: Path, read_job: Callable[..., Any]
) -> None:
    """From the top of the bodies down to 95.9 ft and up to a lip at 97.4 ft: what is over the pipe's start runs back."""
    house = tomllib.loads(_house_text)
    house["overflows"]["O1"] |= {
        "kind": "pop-up emitter", "at": ["38 ft", "104 ft"], "lip": "97.4 ft", "low_point": "95.9 ft",
    }  # fmt: skip
    made = design(read_job(house), folder=data_folder, document=copy.deepcopy(house), beyond=False)
    (pipe,) = made.scheme.side_pipes
    assert pipe.downstream_invert_m == pytest.approx(95.9 * FOOT)
    assert left_m(made.scheme, pipe) == pytest.approx(min(pipe.upstream_invert_m, 97.4 * FOOT))
    empty = side_flows(made.scheme, well_m={"W1": 92.5 * FOOT}, leaves_m3_s={})["O1"]
    assert empty.level_down_m == pytest.approx(left_m(made.scheme, pipe))
    full = side_flows(made.scheme, well_m={"W1": 97.3 * FOOT}, leaves_m3_s={})["O1"]
    assert full.level_up_m == full.level_down_m == pytest.approx(97.3 * FOOT)
    house["overflows"]["O1"]["weep_hole"] = True
    weeping = design(read_job(house), folder=data_folder, document=copy.deepcopy(house), beyond=False)
    assert left_m(weeping.scheme, weeping.scheme.side_pipes[0]) == -math.inf
