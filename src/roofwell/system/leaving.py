"""What leaves the system in the cloudburst at each way out, less what came out of joints and grates on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from roofwell.system.behaviour import Behaviour
from roofwell.system.scheme import Outlet, Overflow, Scheme


def come_out_m3_s(behaviour: Behaviour) -> dict[str, float]:
    """Return what comes out of joints and grates before it reaches a well or an outlet, m³/s, by part."""
    return {level.id: level.comes_out_m3_s for level in behaviour.levels if level.comes_out_m3_s > 0}


def leaves_m3_s(scheme: Scheme, behaviour: Behaviour, overflow: Overflow) -> float:
    """Return what leaves at an overflow in the cloudburst, m³/s; 0 where its well is not followed."""
    return left_m3_s(scheme, overflow.of, _spills(behaviour), come_out_m3_s(behaviour))


def comes_m3_s(scheme: Scheme, behaviour: Behaviour, outlet: Outlet) -> float:
    """Return what comes to an outlet in the cloudburst, by its pipes and from the wells that spill into it, m³/s."""
    runs = {run.id: run.peak_m3_s for run in behaviour.runs}
    return comes_to_m3_s(scheme, outlet.id, runs, _spills(behaviour), come_out_m3_s(behaviour))


def comes_to_m3_s(
    scheme: Scheme,
    outlet: str,
    run_m3_s: Mapping[str, float],
    spill_m3_s: Mapping[str, float],
    out_m3_s: Mapping[str, float],
) -> float:
    """Return what comes to an outlet, m³/s.

    Parameters
    ----------
    run_m3_s, spill_m3_s
        Flow of every run, and over the lip of every full well, if nothing came out on the way, m³/s.
    out_m3_s
        What comes out on the way, by the part at which it does, m³/s.
    """
    by_pipe = sum(run_m3_s[run.id] for run in scheme.runs_to(outlet))
    wells = [overflow.of for overflow in scheme.overflows if overflow.to == outlet]
    return max(0.0, by_pipe - out_above_m3_s(scheme, (outlet,), out_m3_s)) + sum(
        left_m3_s(scheme, well, spill_m3_s, out_m3_s) for well in wells
    )


def left_m3_s(
    scheme: Scheme, well: str, spill_m3_s: Mapping[str, float], out_m3_s: Mapping[str, float]
) -> float:
    """Return what is left to leave over the lip of a well, m³/s; arguments as for ``comes_to_m3_s``.

    What came out above a well that is linked with it, or that spills into it, does not come to it either.
    """
    return max(0.0, spill_m3_s.get(well, 0.0) - _lost(scheme, well, spill_m3_s, out_m3_s))


def _spills(behaviour: Behaviour) -> dict[str, float]:
    return {well.id: well.overflow_peak_m3_s for well in behaviour.wells}


def _lost(scheme: Scheme, well: str, spill_m3_s: Mapping[str, float], out_m3_s: Mapping[str, float]) -> float:
    """What came out before it could come to a well; a well that spills into it hands on no less than nothing."""
    group = scheme.linked_with(well)
    into = [one.of for one in scheme.overflows if one.to in group and one.of not in group]
    return out_above_m3_s(scheme, group, out_m3_s) + sum(
        min(spill_m3_s.get(above, 0.0), _lost(scheme, above, spill_m3_s, out_m3_s)) for above in into
    )


def out_above_m3_s(scheme: Scheme, ends: Sequence[str], out_m3_s: Mapping[str, float]) -> float:
    """Return what came out of the pipes that lead to some ends, m³/s; ``out_m3_s`` by the part at which it does."""
    return sum(flow for id, flow in out_m3_s.items() if (way := scheme.way(id)) and way[-1].to_id in ends)
