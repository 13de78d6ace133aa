"""The trench tree of least cost against an integer programme that states the same problem another way."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix, lil_matrix
from scipy.sparse.csgraph import dijkstra

from roofwell.errors import InputError
from roofwell.physics.trench.route import deflections_rad, elbows
from roofwell.physics.trench.route_graph import RouteGraph, build_graph
from roofwell.physics.trench.route_tree import STEEPEST_TURN_RAD, TreeSearch, crossing_places
from roofwell.physics.trench.route_turns import TurnPrices
from roofwell.physics.trench.route_zones import Obstacle, PricedZone, Way

SIZES = tuple(math.radians(a) for a in (22.5, 45, 60, 90))
FREE = TurnPrices(SIZES, elbow=0.0, wye=0.0, inlet=0.0, left_over=0.0, free_rad=0.0)
PRICES = TurnPrices(SIZES, elbow=0.6, wye=0.7, inlet=1.3, left_over=0.3, free_rad=math.radians(5))


def graph_of(nodes, sources, legs) -> RouteGraph:
    nodes, legs = np.asarray(nodes, dtype=float), np.asarray(legs, dtype=np.int64)
    length = np.hypot(*(nodes[legs[:, 1]] - nodes[legs[:, 0]]).T)
    matrix = csr_matrix((length, (legs[:, 0], legs[:, 1])), shape=(len(nodes), len(nodes)))
    ways = dijkstra(matrix, directed=False, indices=np.arange(sources + 1))
    return RouteGraph(nodes, sources, legs, length, length.copy(), np.zeros(len(legs)), ways)


def price_of(turn: float, prices: TurnPrices) -> float:
    """One turn by the search for single turns, which has its own tests."""
    if abs(turn) <= prices.free_rad:
        return 0.0
    made = elbows(turn, prices.elbows_rad)
    return prices.elbow * len(made.angles_rad) + prices.left_over * abs(made.left_over_rad) / (
        min(prices.elbows_rad) / 2
    )


def by_integer_programme(graph: RouteGraph, leg_cost, prices: TurnPrices) -> float:
    """Least cost as a flow problem: used legs, ways through, branches, and a flow that forbids circles."""
    legs = [
        (int(a), int(b), float(c))
        for (p, q), c in zip(graph.legs, leg_cost, strict=True)
        for a, b in ((p, q), (q, p))
        if b >= graph.sources and a != graph.goal
        and bool(graph.on_the_way(np.array([a]), np.array([b]))[0])
    ]  # fmt: skip
    steps = []
    for i, (a, b, _) in enumerate(legs):
        for j, (c, d, _) in enumerate(legs):
            if b == c and a != d:
                turn = abs(float(deflections_rad(graph.nodes[[a, b, d]])[0]))
                if turn <= STEEPEST_TURN_RAD:
                    steps.append((i, j, turn))
    n, m = len(legs), len(steps)
    # used legs, ways through, branches, flow in legs, flow in steps
    cost = np.concatenate([
        [c + (prices.inlet if b == graph.goal else 0.0) for _, b, c in legs],
        [price_of(t, prices) for _, _, t in steps],
        [prices.wye + price_of(abs(t - math.pi / 4), prices) for _, _, t in steps],
        np.zeros(n + m),
    ])  # fmt: skip
    rows, low, high = [], [], []

    def add(terms, least, most):
        rows.append(terms)
        low.append(least)
        high.append(most)

    through, side, flow, passing = n, n + m, n + 2 * m, 2 * n + 2 * m
    for i, (a, b, _) in enumerate(legs):
        if b != graph.goal:  # what is used goes on, by one step
            add(
                {
                    i: -1,
                    **{s: 1 for k, (p, _, _) in enumerate(steps) if p == i for s in (through + k, side + k)},
                },
                0,
                0,
            )
            add({flow + i: -1, **{passing + k: 1 for k, (p, _, _) in enumerate(steps) if p == i}}, 0, 0)
        into = {through + k: 1 for k, (_, q, _) in enumerate(steps) if q == i}
        source = a < graph.sources
        if not source:  # one pipe goes straight through into every used leg
            add({i: -1, **into}, 0, 0)
        add(
            {flow + i: -1, **{passing + k: 1 for k, (_, q, _) in enumerate(steps) if q == i}, **({i: 1} if source else {})},
            0, 0,
        )  # fmt: skip
        add({flow + i: 1, i: -graph.sources}, -np.inf, 0)
    for k, (_, q, _) in enumerate(steps):
        add({passing + k: 1, through + k: -graph.sources, side + k: -graph.sources}, -np.inf, 0)
        add({side + k: 1, q: -1}, -np.inf, 0)
    for source in range(graph.sources):
        add({i: 1 for i, (a, _, _) in enumerate(legs) if a == source}, 1, 1)
    matrix = lil_matrix((len(rows), len(cost)))
    for r, terms in enumerate(rows):
        for variable, value in terms.items():
            matrix[r, variable] = value
    whole = np.concatenate([np.ones(n + 2 * m), np.zeros(n + m)])
    upper = np.concatenate([np.ones(n + 2 * m), np.full(n + m, np.inf)])
    result = milp(cost, integrality=whole, bounds=Bounds(0, upper),
                  constraints=LinearConstraint(matrix.tocsr(), low, high), options={"mip_rel_gap": 1e-9})  # fmt: skip
    return float(result.fun) if result.status == 0 else math.inf


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 4), st.sampled_from([FREE, PRICES]))
def test_no_tree_on_small_random_graphs_costs_less(seed, sources, prices):
    """Random corners, random legs, costs that are not lengths: the same least cost as the integer programme."""
    random = np.random.default_rng(seed)
    nodes = random.uniform(0, 10, (sources + 1 + 4, 2))
    pairs = [(i, j) for i in range(len(nodes)) for j in range(i + 1, len(nodes)) if j >= sources]
    legs = [pair for pair in pairs if random.random() < 0.7] or pairs
    graph = graph_of(nodes, sources, legs)
    cost = graph.length_m * random.uniform(0.5, 2.0, len(legs))
    wanted = by_integer_programme(graph, cost, prices)
    if not graph.reached or math.isinf(wanted):
        with pytest.raises(InputError, match="no way"):
            TreeSearch(graph, prices).tree(cost)
        return
    found = TreeSearch(graph, prices).tree(cost)
    assert found.exact
    assert found.cost == pytest.approx(wanted, rel=1e-6)


def grid(side: int, sources, goal) -> RouteGraph:
    """Unit grid; sources and goal by their places."""
    places = [(float(x), float(y)) for x in range(side) for y in range(side)]
    first = [*sources, goal]
    nodes = [*first, *(p for p in places if p not in first)]
    legs = [
        (i, j) for i, p in enumerate(nodes) for j, q in enumerate(nodes) if i < j and math.dist(p, q) < 1.01
        and j >= len(sources)
    ]  # fmt: skip
    return graph_of(nodes, len(sources), legs)


@pytest.mark.parametrize(
    ("sources", "goal", "length"),
    [
        ([(0, 0), (0, 4), (4, 4)], (4, 0), 12.0),  # three sides of a square
        ([(0, 2), (2, 4), (4, 2)], (2, 0), 8.0),  # a cross
        ([(0, 0), (0, 2), (0, 4)], (4, 2), 10.0),  # a trident; no pipe runs into a source, so 3 + 4 + 3
    ],
)
def test_known_trees_on_a_square_grid(sources, goal, length):
    """Rectilinear Steiner trees that can be seen at a glance."""
    graph = grid(5, sources, goal)
    assert TreeSearch(graph, FREE).tree(graph.length_m).cost == pytest.approx(length)


def test_a_wye_is_made_only_where_it_pays():
    """Two sources 2 apart, 10 from the goal: joined they save nearly one trench; a dear wye keeps them apart."""
    graph = build_graph(sources=[(0, -1), (0, 1)], goal=(10, 0), near_m=0.0)
    cheap = TurnPrices(SIZES, elbow=0.1, wye=0.5, inlet=0.5, left_over=0.0, free_rad=0.0)
    dear = TurnPrices(SIZES, elbow=0.1, wye=50.0, inlet=0.5, left_over=0.0, free_rad=0.0)
    assert len(TreeSearch(graph, cheap).tree(graph.length_m).wyes) == 1
    apart = TreeSearch(graph, dear).tree(graph.length_m)
    assert apart.wyes == ()
    assert apart.cost == pytest.approx(2 * math.hypot(10, 1) + 2 * 0.5)


def test_the_cost_of_a_leg_may_depend_on_whose_water_it_carries():
    """A trunk that is dear for both together is left to one of them."""
    graph = graph_of([(0, 0), (0, 2), (10, 1), (2, 1)], 2, [(0, 3), (1, 3), (2, 3), (0, 2), (1, 2)])
    search = TreeSearch(graph, FREE)
    cost = np.tile(graph.length_m, (3, 1))
    assert len(search.tree(cost).wyes) == 1
    both = search.sets.index(frozenset({0, 1}))
    cost[both] = 100.0
    assert search.tree(cost).wyes == ()


def test_costs_of_nothing_are_refused():
    graph = graph_of([(0, 0), (1, 0)], 1, [(0, 1)])
    with pytest.raises(InputError, match="above 0"):
        TreeSearch(graph, FREE).tree(np.zeros(1))


@st.composite
def yards(draw):
    """A house with downspouts on its walls, a goal outside, up to two trees and a walk."""
    wide, deep = draw(st.floats(6, 20)), draw(st.floats(6, 14))
    shape = draw(st.sampled_from(["box", "ell"]))
    house = shapely.box(0, 0, wide, deep)
    if shape == "ell":
        house = house.difference(shapely.box(wide / 2, deep / 2, wide, deep))
    count = draw(st.integers(1, 8))
    share = draw(st.floats(0, 0.9)) / count
    sources = [house.exterior.interpolate((i / count + share) % 1, normalized=True) for i in range(count)]
    angle = draw(st.floats(0, 2 * math.pi))
    goal = (wide / 2 + 22 * math.cos(angle), deep / 2 + 20 * math.sin(angle))
    trees = []
    for _ in range(draw(st.integers(0, 2))):
        tree = shapely.Point(draw(st.floats(-12, 32)), draw(st.floats(-12, 26))).buffer(
            draw(st.floats(0.5, 3)), quad_segs=3
        )
        if tree.distance(house) > 1.5 and tree.distance(shapely.Point(goal)) > 0.5:
            trees.append(tree)
    return house, [(p.x, p.y) for p in sources], goal, trees


@settings(max_examples=40, deadline=None)
@given(yards())
def test_every_tree_keeps_out_and_arrives(yard):
    """Never through the house or a root zone; each source starts one pipe; all end at the goal; turns are possible."""
    house, sources, goal, trees = yard
    obstacles = [Obstacle("H1", house, house.buffer(0.6, join_style="mitre"))]
    obstacles += [Obstacle(f"T{i}", tree, tree) for i, tree in enumerate(trees)]
    graph = build_graph(sources=sources, goal=goal, obstacles=obstacles, near_m=1.2, angles_rad=SIZES)
    if not graph.reached:
        assert trees  # only a tree before the wall can shut a downspout in
        return
    found = TreeSearch(graph, PRICES).tree(graph.length_m)
    assert found.exact == (len(sources) <= 6)
    starts = [b.corners[0] for b in found.branches if b.corners[0] < graph.sources]
    assert sorted(starts) == list(range(len(sources)))
    onward = {b.corners[0]: b.corners[-1] for b in found.branches}
    assert len(onward) == len(found.branches)
    for at in starts:
        steps = 0
        while at != graph.goal:
            at, steps = onward[at], steps + 1
            assert steps <= len(found.branches)
    solid = shapely.union_all([house, *trees]).buffer(-1e-3)
    for branch in found.branches:
        path = graph.nodes[list(branch.corners)]
        assert not shapely.LineString(path).intersects(solid)
        if len(path) > 2:
            assert np.abs(deflections_rad(path)).max() <= STEEPEST_TURN_RAD + 1e-9
        for a, b in pairwise(path):
            inside = shapely.LineString([a, b]).intersection(obstacles[0].keep.buffer(-1e-3)).length
            at_end = branch.corners[0] < graph.sources or branch.corners[-1] == graph.goal
            assert inside <= (1.2 if at_end else 1e-3) + 1e-3
    used = [tuple(sorted(leg)) for b in found.branches for leg in pairwise(b.corners)]
    assert len(used) == len(set(used))  # no two pipes in one trench


def test_dear_ground_is_gone_round_when_the_way_round_is_short():
    """A walk right across: 3 wide, its end 2 off the straight line; crossing costs 11, going round 2.6."""
    walk = PricedZone("K1", shapely.box(4, -2, 7, 30), ways=(Way("cut", 8.0, 1.0, math.inf),))
    graph = build_graph(sources=[(0, 0)], goal=(11, 0), zones=[walk], near_m=0.0, places=[(5.5, -4)])
    path = TreeSearch(graph, FREE).tree(graph.length_m + graph.extra).branches[0].corners
    assert graph.nodes[list(path)].tolist() == [[0, 0], [5.5, -4], [11, 0]]
    by_hand = PricedZone("U1", shapely.box(4, -2, 7, 30), factor=4.0)
    again = build_graph(sources=[(0, 0)], goal=(11, 0), zones=[by_hand], near_m=0.0)
    assert again.dug_m[0] == pytest.approx(11 + 3 * 3)


def test_the_lot_is_not_left():
    """A lot with a bite out of it: the way goes round inside."""
    lot = shapely.Polygon([(0, 0), (20, 0), (20, 10), (12, 10), (12, 3), (8, 3), (8, 10), (0, 10)])
    graph = build_graph(sources=[(2, 8)], goal=(18, 8), within=lot, near_m=0.0)
    path = TreeSearch(graph, FREE).tree(graph.length_m).branches[0].corners
    assert lot.buffer(1e-3).contains(shapely.LineString(graph.nodes[list(path)]))
    assert graph.way_to_goal_m()[0] == pytest.approx(2 * math.hypot(6, 5) + 4, abs=1e-3)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"sources": []}, "route-sources"),
        ({"goal": (math.nan, 0)}, "route-point"),
        ({"near_m": -1.0}, "route-near"),
    ],
)
def test_bad_questions(change, code):
    asked = {"sources": [(0, 0)], "goal": (1, 1), "near_m": 0.0} | change
    with pytest.raises(InputError) as caught:
        build_graph(**asked)
    assert caught.value.code == code


def test_branches_that_cross_may_join_there():
    """Two straight ways that cross at (5, 5): the place is found, and as a corner it becomes a joint."""
    asked = {"sources": [(0, 0), (10, 0)], "goal": (5, 12), "near_m": 0.0}
    graph = graph_of([(0, 0), (10, 0), (5, 12), (10, 10), (0, 10)], 2, [(0, 3), (3, 2), (1, 4), (4, 2)])
    places = crossing_places(graph, TreeSearch(graph, FREE).tree(graph.length_m))
    assert places.tolist() == [[5, 5]]
    again = build_graph(**asked, places=places)
    found = TreeSearch(again, FREE).tree(again.length_m)
    assert len(crossing_places(again, found)) == 0
    assert len(found.wyes) == 1
