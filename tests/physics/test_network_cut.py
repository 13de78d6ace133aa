"""A long run that is cut into pieces comes to the same numbers, to the last digit, as the run in one."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import numpy as np
import pytest

from roofwell.physics import compiled, network

STEP_S = 3600.0


def rain(count: int, stores: int) -> np.ndarray:
    rng = np.random.default_rng(20261129)
    wet = rng.random((count, 1)) < 0.15
    return np.ascontiguousarray(wet * rng.exponential(3.0e-4, (count, stores)))


def well(level_m: float, *, to: int | None = None, link: network.Link | None = None) -> network.Store:
    volume = np.array([0.0, 0.7, 1.6, 3.0])
    return network.Store(
        volume,
        np.array([2e-5, 3e-5, 6e-5, 1e-4]),
        np.array([2e-5, 2.5e-5, 6e-5, 9e-5]),
        np.array([9e-4, 8e-4, 6e-4, 4e-4]),
        to,
        0.01,
        network.Stage(volume, level_m + (1.0 - level_m) * volume / 3.0),
        link,
    )


SYSTEMS = {
    "one": [well(0.0)],
    "series": [well(0.0, to=1), well(0.0, to=2), well(0.0)],
    "linked": [well(0.0), well(0.2, link=network.Link(0, 0.4)), well(0.1, link=network.Link(0, 0.6))],
    "into linked and on": [
        well(0.0, to=2),
        well(0.0, to=3),
        well(0.2, link=network.Link(1, 0.4)),
        well(0.0),
    ],
}


@pytest.mark.parametrize("name", SYSTEMS)
@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize("start", [0.0, 0.35, 3.0])
def test_a_cut_run_is_the_run_in_one(
    name: str, plain: bool, start: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cut at steps that are dry, wet, full and spilling, and once after a single step."""
    if plain:
        monkeypatch.setattr(compiled, "kernel", compiled.plain_kernel)
    stores = SYSTEMS[name]
    inflow = rain(900, len(stores))
    given = [start] * len(stores)
    whole = network.simulate(stores, inflow, step_s=STEP_S, start_m3=given)
    assert sum(float(t.spilled_m3.sum()) for t in whole) > 1.0
    assert min(float(t.volume_end_m3.min()) for t in whole) < 0.05
    cuts = [0, 1, 57, 58, 300, 300, 611, 900]
    standing = network.Standing()
    pieces = [
        network.simulate(stores, inflow[a:b], step_s=STEP_S, start_m3=given, standing=standing)
        for a, b in pairwise(cuts)
    ]
    for j, trace in enumerate(whole):
        for field in dataclasses.fields(network.Trace):
            found = getattr(trace, field.name)
            if isinstance(found, np.ndarray):
                joined = np.concatenate([getattr(piece[j], field.name) for piece in pieces])
                assert np.array_equal(joined, found), field.name
            else:
                assert getattr(pieces[-1][j], field.name) == found, field.name
        assert standing.volume_m3[j] == trace.volume_end_m3[-1]
