"""No joint is left without matching ends, whatever pipes meet; checked by a checker of its own."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roofwell import tables
from roofwell.system.scheme import PipeFitting
from roofwell.takeoff import take_off

FOOT = 0.3048
PIPES = [
    ("sdr-35", 4), ("sdr-35", 6), ("thin-wall", 3), ("thin-wall", 4), ("thin-wall", 6), ("schedule-40", 3),
    ("schedule-40", 4), ("schedule-40", 6), ("corrugated", 4), ("corrugated", 6),
]  # fmt: skip
ROWS = {row["kind"]: row for row in tables.rows("fitting_ends")}
COUPLERS = {"adapter", "reducing-adapter", "increaser-coupling", "reducer-coupling", "coupling"}
BUSHINGS = {"adapter-bushing", "increaser", "reducer"}


def joins(upper, lower) -> bool:
    """A hub takes a spigot of its diameter and wall, a boot any spigot, a thread a thread."""
    kinds = sorted((upper.kind, lower.kind))
    if kinds in (["boot", "spigot"], ["threaded", "threaded"]):
        return True
    same = abs(upper.size.outside_diameter_m - lower.size.outside_diameter_m) < 0.0006
    alike = (upper.size.pipe == "corrugated") == (lower.size.pipe == "corrugated")
    return kinds == ["hub", "spigot"] and same and alike


def check(out) -> None:
    for chain in out.chains:
        for a, b in pairwise(chain.links):
            assert joins(a.lower, b.upper), (chain.id, a, b)
        for link in chain.links:
            if link.kind == "pipe":
                assert link.lower.kind == "spigot" and link.upper.kind in ("hub", "spigot")
                assert link.upper.kind == "spigot" or link.upper.size.pipe in ("sdr-35", "thin-wall")
                continue
            row = ROWS[link.kind]
            ends = [link.upper.kind, link.lower.kind]
            assert ends in ([row["upstream"], row["downstream"]], [row["downstream"], row["upstream"]])


@st.composite
def layouts(draw):
    """Up to four downspouts into a wye, a basin, a well with an overflow, or an outlet; any pipes."""
    count = draw(st.integers(1, 4))
    pipe = st.sampled_from(PIPES)
    length = st.floats(0.5, 90.0)
    branches = [(draw(pipe), draw(length), draw(st.floats(-2.5, 2.5))) for _ in range(count)]
    main = [(draw(pipe), draw(length)) for _ in range(3)]
    fittings = draw(
        st.lists(
            st.tuples(
                st.sampled_from(["elbow", "cleanout", "coupling"]),
                st.floats(0, 1),
                st.sampled_from([22.5, 45.0, 90.0]),
            ),
            max_size=3,
        )
    )
    return branches, main, fittings, draw(st.booleans()), draw(st.sampled_from(["grate", "pop-up emitter"]))


def build(hand, spec):
    branches, main, fittings, to_well, kind = spec
    spouts, runs = [], []
    goal = "Y1" if len(branches) > 1 else "B1"
    for i, ((pipe, nominal), length, angle) in enumerate(branches, start=1):
        start = (-length * math.cos(angle), -length * math.sin(angle))
        spouts.append(hand.spout(f"D{i}", start, shape="round" if i % 2 else "rectangular"))
        run = hand.run(f"P{i}", f"D{i}", goal, [start, (0.0, 0.0)], pipe=pipe, nominal_in=nominal)
        placed = tuple(PipeFitting(k, s * run.length_m, math.radians(a), k) for k, s, a in fittings)
        runs.append(replace(run, fittings=placed))
    at, n = 0.0, len(branches)
    stops = (["Y1"] if goal == "Y1" else []) + ["B1", "W1" if to_well else "E1"]
    for k, (a, b) in enumerate(pairwise(stops), start=1):
        (pipe, nominal), length = main[k - 1]
        path = [(at, 0.0), (at + length, 0.0)]
        runs.append(hand.run(f"P{n + k}", a, b, path, pipe=pipe, nominal_in=nominal))
        at += length
    return hand.scheme(
        downspouts=spouts,
        wyes=[hand.wye("Y1", (0, 0))] if goal == "Y1" else [],
        basins=[hand.basin("B1", (0, 0))],
        wells=[hand.well("W1", (at, 0))] if to_well else [],
        overflows=[hand.overflow("O1", "W1", (at + 20, 0), kind)] if to_well else [],
        outlets=[] if to_well else [hand.outlet("E1", (at, 0))],
        runs=runs,
    )


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(spec=layouts())
def test_every_joint_fits(hand, spec) -> None:
    """Random layouts of random pipes: every end has its mate, and every end fitting is there."""
    out = take_off(build(hand, spec), hand.survey(), None)
    check(out)
    bought = {link.kind for chain in out.chains for link in chain.links if link.counted}
    adapters = sum(link.kind.startswith("downspout-adapter") for chain in out.chains for link in chain.links)
    assert adapters == len(spec[0])
    assert ("overflow-grate" in bought or "pop-up-emitter" in bought) == spec[3]
    assert "basin-boot" in bought
    wyes = sum(link.kind == "wye" and link.counted for chain in out.chains for link in chain.links)
    assert wyes == max(0, len(spec[0]) - 1)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(spec=layouts())
def test_sticks_are_never_too_short(hand, spec) -> None:
    """Pieces never exceed their stick, pieces are never shorter than the run, one bell a stick at most."""
    scheme = build(hand, spec)
    out = take_off(scheme, hand.survey(), None)
    sticks: dict[tuple[str, float, int], list] = {}
    for cut in out.cuts:
        sticks.setdefault((cut.pipe, cut.nominal_m, cut.stick), []).append(cut)
    for cuts in sticks.values():
        assert sum(cut.length_m for cut in cuts) <= 10 * FOOT + 1e-6
        assert sum(cut.bell for cut in cuts) <= 1
    for run in scheme.runs:
        assert sum(cut.length_m for cut in out.cuts if cut.run == run.id) >= run.length_m - 1e-6
    links = [link for chain in out.chains for link in chain.links if link.kind == "pipe"]
    assert len(links) == len(out.cuts)
    assert math.isclose(sum(link.length_m for link in links), sum(cut.length_m for cut in out.cuts))
    for item in out.items:
        if item.group == "pipe":
            _, pipe, size = item.key.split(":")
            inches = float(size.removesuffix("in"))
            mine = {key for key in sticks if key[0] == pipe and abs(key[1] - inches * 0.0254) < 1e-6}
            assert item.quantity >= len(mine)


def kinds_of(out, chain_id: str) -> list[str]:
    return [link.kind for chain in out.chains if chain.id == chain_id for link in chain.links]


def test_thin_and_sewer_pipe_need_no_adapter(hand) -> None:
    """Materials sheet P05: D2729 and SDR 35 of 4 in share 4.215 in outside."""
    out = take_off(hand.house(P1={"pipe": "thin-wall"}), hand.survey(), None)
    assert not COUPLERS.union(BUSHINGS) & set(kinds_of(out, "P1"))


def test_schedule_40_into_a_sewer_wye_needs_an_adapter(hand) -> None:
    """Materials sheet P05: 4.500 in does not fit 4.215 in."""
    out = take_off(hand.house(P1={"pipe": "schedule-40"}), hand.survey(), None)
    assert kinds_of(out, "P1")[-2:] == ["adapter-bushing", "wye"]


def test_smaller_pipe_gets_an_increaser(hand) -> None:
    out = take_off(hand.house(P1={"pipe": "thin-wall", "nominal_in": 3}), hand.survey(), None)
    assert kinds_of(out, "P1")[-2:] == ["increaser", "wye"]


def test_other_family_and_other_size_gets_a_sleeve_and_a_short_piece(hand) -> None:
    out = take_off(hand.house(P1={"pipe": "schedule-40", "nominal_in": 3}), hand.survey(), None)
    assert kinds_of(out, "P1")[-3:] == ["reducing-adapter", "pipe", "wye"]


def test_bells_join_a_straight_run(hand) -> None:
    """Bell-ended pipe from a basin to a well needs boots only; plain pipe a coupling at every joint."""
    straight = hand.scheme(
        basins=[hand.basin("B1", (0, 0))],
        wells=[hand.well("W1", (38, 0))],
        runs=[hand.run("P1", "B1", "W1", [(0, 0), (38, 0)])],
    )
    kinds = kinds_of(take_off(straight, hand.survey(), None), "P1")
    assert kinds == ["basin-boot", "pipe", "pipe", "pipe", "pipe", "well-boot"]
    plain = replace(straight, runs=(hand.run("P1", "B1", "W1", [(0, 0), (38, 0)], pipe="schedule-40"),))
    kinds = kinds_of(take_off(plain, hand.survey(), None), "P1")
    assert kinds.count("coupling") == 3 and kinds.count("pipe") == 4


def test_a_cut_end_that_is_used_again_needs_a_coupling(hand) -> None:
    """Two short risers from one stick: the second has no bell for the downspout adapter's spigot."""
    scheme = hand.scheme(
        downspouts=[hand.spout("D1", (0, 0)), hand.spout("D2", (40, 0))],
        outlets=[hand.outlet("E1", (2, 0)), hand.outlet("E2", (42, 0))],
        runs=[hand.run("P1", "D1", "E1", [(0, 0), (2, 0)]), hand.run("P2", "D2", "E2", [(40, 0), (42, 0)])],
    )
    out = take_off(scheme, hand.survey(), None)
    assert next(i.quantity for i in out.items if i.key == "pipe:sdr-35:4in") == 1
    assert next(i.quantity for i in out.items if i.key == "fitting:coupling:4in") == 1


def test_a_cleanout_brings_tee_riser_adapter_and_plug(hand) -> None:
    fitted = {"P1": {"fittings": (PipeFitting("cleanout", 3.0, 0.0, "cleanout"),)}}
    out = take_off(hand.house(**fitted), hand.survey(), None)
    found = {i.key.split(":")[1]: i for i in out.items if i.group == "fittings"}
    for kind in ("cleanout-tee", "cleanout-adapter", "cleanout-plug"):
        assert found[kind].quantity == 1
        assert found[kind].where == "P1 at 0+10"


def test_a_branch_at_a_right_angle_takes_a_45_before_the_wye(hand) -> None:
    out = take_off(hand.house(), hand.survey(), None)
    elbow = next(i for i in out.items if i.key == "fitting:elbow-45:4in")
    assert (elbow.quantity, elbow.where) == (1, "P2 at 0+06")


def test_a_corner_of_the_path_gets_its_elbow_even_if_the_scheme_forgot(hand) -> None:
    scheme = hand.scheme(
        downspouts=[hand.spout("D1", (0, 0))],
        outlets=[hand.outlet("E1", (20, 20))],
        runs=[hand.run("P1", "D1", "E1", [(0, 0), (20, 0), (20, 20)])],
    )
    out = take_off(scheme, hand.survey(), None)
    elbows = next(i for i in out.items if i.key == "fitting:elbow-90:4in")
    assert elbows.where == "P1 at 0+00, P1 at 0+20"


def test_a_grate_wider_than_any_pipe_stands_on_a_riser_of_its_own(hand) -> None:
    """A 10 in grate over the pit takes no stick of a pipe that nobody sells so wide."""
    over = replace(hand.overflow("O1", "W1", (70, 0)), diameter_m=0.254)
    out = take_off(replace(hand.house(), overflows=(over,)), hand.survey(), None)
    check(out)
    assert kinds_of(out, "O1") == ["overflow-grate", "overflow-riser", "well-boot"]
    assert {cut.nominal_m for cut in out.cuts} == {0.1016}
