"""Trees of pipes: a chain is a tree, water is conserved, and nothing stands over its limit."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.pipe.entrance import EntranceEdge
from roofwell.physics.pipe.profile import chain, grade_line
from roofwell.physics.pipe.tree import PipeTree, settle, tree_levels

BORE = 0.1016
EDGE = EntranceEdge(0.0098, 2.0, 0.0398, 0.67)
COLUMNS: dict[str, Any] = {
    "downstream_invert_m": [0.0, 0.10, 0.25],
    "upstream_invert_m": [0.10, 0.25, 0.40],
    "length_m": [10.0, 12.0, 9.0],
    "inside_diameter_m": [BORE] * 3,
    "manning_n": [0.011] * 3,
    "entrance_loss_k": [0.5] * 3,
    "bend_loss_k": [0.3, 0.0, 0.3],
    "velocity_head_k": [1.0] * 3,
}
FLOWS = [0.004, 0.003, 0.002]


def a_tree(*limits: float, below: tuple[int, ...] = (-1, 0, 1), turn: float = 0.0) -> PipeTree:
    pipes = tuple(chain(**COLUMNS, edges=[EDGE] * 3))
    return PipeTree(
        pipes, below, tuple(turn if place >= 0 else 0.0 for place in below), limits or (math.inf,) * 3
    )


@given(st.floats(-0.2, 0.9), st.floats(0.0, 2.0))
@settings(max_examples=40, deadline=None)
def test_a_chain_is_a_tree(tailwater: float, factor: float) -> None:
    """Without limits the tree of one chain has the levels of the chain."""
    flows = [factor * flow for flow in FLOWS]
    rows = tree_levels(a_tree(), flow_m3_s=flows, tailwater_m=[tailwater] * 3)
    line = grade_line(**COLUMNS, edges=[EDGE] * 3, flow_m3_s=flows, tailwater_m=tailwater)
    assert [row.level_m for row in rows] == pytest.approx(line.upstream_level_m, rel=1e-12)


def test_turning_at_a_wye_is_the_entrance_loss_of_the_chain() -> None:
    """What a branch loses by turning into the trunk counts for the branch as if the trunk's start lost it."""
    with_turn = tree_levels(a_tree(turn=1.0), flow_m3_s=FLOWS, tailwater_m=[0.3] * 3)
    columns = COLUMNS | {"entrance_loss_k": [1.5, 1.5, 0.5]}
    line = grade_line(**columns, edges=[EDGE] * 3, flow_m3_s=FLOWS, tailwater_m=0.3)
    assert with_turn[2].level_m == pytest.approx(line.upstream_level_m[2], abs=1e-9)


@given(
    st.floats(-0.2, 0.9),
    st.floats(0.0, 4.0),
    st.floats(0.05, 1.0),
    st.floats(0.05, 1.0),
    st.floats(0.05, 1.0),
)
@settings(max_examples=60, deadline=None)
def test_water_that_comes_out_is_not_lost(
    tailwater: float, factor: float, a: float, b: float, c: float
) -> None:
    """What comes = what arrives below + what comes out; no joint stands over its limit; nothing is negative."""
    tree = a_tree(0.1 + a, 0.25 + b, 0.4 + c, below=(-1, 0, 0))
    own = [0.001 * factor, 0.002 * factor, 0.002 * factor]
    flows = [sum(own), own[1], own[2]]
    settled = settle(tree, flow_m3_s=flows, tailwater_m=[tailwater] * 3)
    assert settled.flow_m3_s[0] + sum(settled.out_m3_s) == pytest.approx(sum(own), rel=1e-12, abs=1e-15)
    assert min(settled.out_m3_s) >= 0
    for stands, limit in zip(settled.stands_m, tree.limit_m, strict=True):
        assert stands <= limit
    for out, wanted, limit in zip(settled.out_m3_s, settled.wanted_m, tree.limit_m, strict=True):
        assert (out <= 0) or (wanted > limit)


def test_it_comes_out_only_as_far_as_it_must() -> None:
    """At the joint that is relieved the water stands at its limit; above it, by the limit and not by more."""
    free = tree_levels(a_tree(), flow_m3_s=FLOWS, tailwater_m=[0.3] * 3)
    limit = free[0].level_m - 0.02
    tree = a_tree(limit, math.inf, math.inf)
    settled = settle(tree, flow_m3_s=FLOWS, tailwater_m=[0.3] * 3)
    assert settled.wanted_m[0] == pytest.approx(free[0].level_m, abs=1e-12)
    assert settled.rows[0].level_m == pytest.approx(limit, abs=2e-4)
    assert 0 < settled.out_m3_s[0] < FLOWS[0]
    assert settled.out_m3_s[1:] == (0.0, 0.0)
    again = grade_line(
        **{k: v[1:] for k, v in COLUMNS.items()}, edges=[EDGE] * 2, flow_m3_s=FLOWS[1:], tailwater_m=limit
    )
    assert settled.stands_m[1:] == pytest.approx(again.upstream_level_m, abs=3e-4)


def test_a_tailwater_over_the_limit_lets_everything_out() -> None:
    """Nothing flows down into water that stands higher than the way out."""
    settled = settle(a_tree(0.25, math.inf, math.inf), flow_m3_s=FLOWS, tailwater_m=[0.5] * 3)
    assert settled.flow_m3_s[0] == 0.0
    assert settled.out_m3_s[0] == pytest.approx(FLOWS[0])


@given(st.floats(-0.2, 0.8), st.floats(0.0, 0.3), st.floats(0.1, 2.0), st.floats(1.0, 2.0))
@settings(max_examples=60, deadline=None)
def test_levels_are_monotone_in_tailwater_and_flow(
    low: float, more: float, factor: float, times: float
) -> None:
    """What the search for the worst instant rests on."""
    before = tree_levels(a_tree(), flow_m3_s=[factor * q for q in FLOWS], tailwater_m=[low] * 3)
    after = tree_levels(a_tree(), flow_m3_s=[factor * times * q for q in FLOWS], tailwater_m=[low + more] * 3)
    for a, b in zip(before, after, strict=True):
        assert b.level_m >= a.level_m - 2e-4  # the steps of the traced surface


@pytest.mark.parametrize(
    "make",
    [
        lambda: PipeTree(tuple(chain(**COLUMNS)), (-1, 0), (0.0,) * 3, (math.inf,) * 3),
        lambda: PipeTree(tuple(chain(**COLUMNS)), (1, -1, 0), (0.0,) * 3, (math.inf,) * 3),
        lambda: tree_levels(a_tree(), flow_m3_s=[0.001], tailwater_m=[0.0] * 3),
        lambda: chain(**COLUMNS, edges=[None]),
    ],
)
def test_out_of_order_is_refused(make: Any) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.code == "pipe-chain"
