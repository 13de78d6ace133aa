"""The step from a Scheme in the rain to its debris: what comes, what each basin keeps, what reaches the stone.

Everything is a range. Its low end of what is kept counts the debris as coming with the heaviest rain, the rain of a
record's step as falling in bursts, the sump as half full and what the year's hardest rain lifts as gone in part; its
high end the opposite of each. See docs/method/basin.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roofwell import tables
from roofwell.physics.basin import settling
from roofwell.physics.basin.capture import (
    Comes,
    RainClasses,
    kept_share,
    months_to_fill,
    rain_classes,
    shares_of_load,
    sizes_between,
)
from roofwell.physics.rain.frequency import intensity_m_s
from roofwell.system import roof_parts
from roofwell.system.basin_jet import BasinWater, basin_water, inlet_at_water
from roofwell.system.behaviour import DownspoutFlow, FloatArray
from roofwell.system.debris_facts import (
    BasinDebris,
    BasinVariant,
    Debris,
    DebrisAmount,
    InRain,
    Span,
    WellDebris,
    total_m3_year,
)
from roofwell.system.debris_load import Loads, spout_loads
from roofwell.system.facts import Survey
from roofwell.system.scheme import Basin, Scheme
from roofwell.system.well_record import RecordBasis
from roofwell.tables.debris import Kind, figure, kinds

__all__ = ["BasinDebris", "BasinVariant", "Debris", "DebrisAmount", "Span", "WellDebris", "debris"]

STEADY = ("steady-rain-light", "steady-rain-heavy", "steady-rain-cloudburst")
COMES: tuple[Comes, ...] = ("with the heaviest water", "with the water", "with the first water")
SIZES = 7
ENDS = (0, 1, 2)


@dataclass(frozen=True, slots=True)
class _Grains:
    """Fall or rise of every size of a kind, ``velocity_m_s`` of the shape (SIZES,); what lifts it by end."""

    kind: Kind
    velocity_m_s: FloatArray
    lifts_m_s: tuple[FloatArray, ...]


@dataclass(frozen=True, slots=True)
class _Rain:
    """Rain as the debris meets it, one entry for each end of what is kept."""

    classes: tuple[RainClasses, ...]
    shares: tuple[FloatArray, ...]
    faster: tuple[float, ...]
    burst: float


Kept = dict[str, tuple[FloatArray, ...]]
"""By kind, for each end: share that a basin keeps of each size in each class of rain, shape (SIZES, classes)."""


def debris(scheme: Scheme, survey: Survey, spouts: Sequence[DownspoutFlow], record: RecordBasis) -> Debris:
    """Follow the debris of every roof through the basins on its way to the wells.

    Parameters
    ----------
    spouts
        Downspouts in the cloudburst, for what each takes at most.
    record
        From ``rainfall.record_basis``; without a record steady rain stands in for its ends.
    """
    rain = _rain(survey, record)
    runoff = _runoff(survey, rain, record)
    loads = spout_loads(scheme, survey, runoff)
    grains = tuple(_grains(kind) for kind in kinds())
    limit = {flow.id: flow.limit_m3_s for flow in spouts}
    ways = {spout.id: _basins_on_way(scheme, spout.id) for spout in scheme.downspouts}
    waters = {basin.id: basin_water(scheme, basin, limit) for basin in scheme.basins}
    kept = {id: _kept(water, rain, grains) for id, water in waters.items()}
    found = {
        basin.id: _basin(scheme, survey, waters[basin.id], kept, rain, grains, loads, ways)
        for basin in scheme.basins
        if waters[basin.id].area_m2 > 0
    }
    return Debris(
        wells=tuple(_well(scheme, well.id, kept, rain, loads, ways, found) for well in scheme.wells),
        basins=tuple(found.values()),
        record=survey.rain.record_name if record[0] is not None else None,
        step_s=float(survey.rain.record.step_s) if survey.rain.record is not None else math.nan,
        burst=rain.burst,
        trees_known="roofs.trees" not in survey.missing,
    )


def _rain(survey: Survey, record: RecordBasis) -> _Rain:
    net, long = record[0], survey.rain.record
    if net is None or long is None or not np.any(net > 0):
        rates = _steady(survey)[::-1]
        one = tuple(RainClasses(np.array([r]), np.ones(1), np.array([r]), 1.0, r) for r in rates)
        return _Rain(one, (np.ones(1),) * 3, (1.0,) * 3, 1.0)
    found = rain_classes(
        net * survey.settings["runoff_coefficient"], step_s=float(long.step_s), years=long.years
    )
    burst = _burst(survey, float(long.step_s))
    shares = tuple(shares_of_load(found, comes) for comes in COMES)
    return _Rain((found,) * 3, shares, (burst, math.sqrt(burst), 1.0), burst)


def _steady(survey: Survey) -> list[float]:
    """The steady rains that stand in for a record and that every basin is told in, m/s, light first."""
    return [tables.assumption(key, survey.style).value_si for key in STEADY]


def _burst(survey: Survey, step_s: float) -> float:
    """How much faster than the mean of a record's step its rain may fall: by the job's own rain table."""
    table, years = survey.rain.table, survey.targets.storm_years
    shortest, longest = float(table.duration_s[0]), float(table.duration_s[-1])
    if step_s <= shortest:
        return 1.0
    mean = intensity_m_s(table, duration_s=min(step_s, longest), return_period_years=years)
    return max(1.0, roof_parts.cloudburst_m_s(survey) / mean)


def _runoff(survey: Survey, rain: _Rain, record: RecordBasis) -> Span:
    long = survey.rain.record
    if record[0] is None or long is None:
        return Span(*figure("runoff"))
    counted = 1.0 - long.share_missing
    depth = rain.classes[1].depth_m_year / counted if counted > 0 else 0.0
    return Span(depth, depth, depth)


def _grains(kind: Kind) -> _Grains:
    viscosity = settling.water_viscosity_m2_s(temperature_c=tables.assumption("water-temperature").value_si)
    sizes = sizes_between(kind.size_low_m, kind.size_high_m, SIZES)
    if kind.floats:
        speed = [
            settling.rise_velocity_m_s(
                size_m=size, specific_gravity=kind.specific_gravity, viscosity_m2_s=viscosity
            )
            for size in sizes
        ]
        return _Grains(kind, np.array(speed), (np.full(SIZES, np.inf),) * 3)
    heavy = kind.specific_gravity - 1.0
    speed = [
        settling.ferguson_church_m_s(grain_m=size, submerged_specific_gravity=heavy, viscosity_m2_s=viscosity)
        for size in sizes
    ]
    lifts = tuple(
        np.array(
            [
                settling.scour_velocity_m_s(
                    grain_m=size, submerged_specific_gravity=heavy, cohesion_k=k, friction_factor=f
                )
                for size in sizes
            ]
        )
        for k, f in zip(figure("cohesion"), figure("friction"), strict=True)
    )
    return _Grains(kind, np.array(speed), lifts)


def _basins_on_way(scheme: Scheme, spout: str) -> tuple[str, ...]:
    ids = {basin.id for basin in scheme.basins}
    return tuple(run.to_id for run in scheme.way(spout) if run.to_id in ids)


def _kept(water: BasinWater, rain: _Rain, grains: Sequence[_Grains]) -> Kept:
    """What a basin keeps of each size of each kind in each class of rain, at each end."""
    basin, tanks = water.basin, tables.assumption("basin-tanks").value_si
    out: dict[str, list[FloatArray]] = {grain.kind.key: [] for grain in grains}
    for end in ENDS:
        classes, faster = rain.classes[end], rain.faster[end]
        flow = water.flow_m3_s(classes.rate_m_s * faster)
        full = figure("deposit")[end]
        jet = water.jet_m_s(classes.rate_m_s * faster, full)
        yearly = np.array([classes.yearly_m_s * faster])
        hardest, its_jet = water.flow_m3_s(yearly), water.jet_m_s(yearly, full)
        for grain in grains:
            kind = grain.kind
            if kind.floats:
                rises = kept_share(
                    velocity_m_s=grain.velocity_m_s,
                    flow_m3_s=flow,
                    plan_area_m2=basin.plan_area_m2,
                    tanks=tanks,
                )
                share = _floating(basin, kind, end, rises)
            else:
                share = kept_share(
                    velocity_m_s=grain.velocity_m_s,
                    flow_m3_s=flow,
                    plan_area_m2=basin.plan_area_m2,
                    tanks=tanks,
                    jet_m_s=jet,
                    lifts_m_s=grain.lifts_m_s[end],
                )
                if end == 0:  # what the hardest rain of a year lifts settles again only in part
                    again = kept_share(
                        velocity_m_s=grain.velocity_m_s,
                        flow_m3_s=hardest,
                        plan_area_m2=basin.plan_area_m2,
                        tanks=tanks,
                    )
                    lifted = its_jet[0] > grain.lifts_m_s[end]
                    share = share * np.where(lifted, again[:, 0], 1.0)[:, None]
            out[kind.key].append(share)
    return {key: tuple(shares) for key, shares in out.items()}


def _floating(basin: Basin, kind: Kind, end: int, rises: FloatArray) -> FloatArray:
    """Share of what floats that a basin keeps: what sinks in time, what a hood holds under its surface, the screen."""
    keeps = np.zeros_like(rises)
    if basin.hood:
        keeps = rises * _air_hole(basin)[end]
    keeps = kind.sunk[end] + (1.0 - kind.sunk[end]) * keeps
    if basin.screen:
        keeps = 1.0 - (1.0 - keeps) * (1.0 - kind.screen[end])
    return keeps


def _air_hole(basin: Basin) -> tuple[float, float, float]:
    low, best, high = figure("no-air-hole")
    if basin.hood_air_hole:
        return 1.0, 1.0, 1.0
    return (low, best, high) if basin.hood_air_hole is False else (low, 0.5 * (best + 1.0), 1.0)


def _past(kept: dict[str, Kept], way: Sequence[str], kind: str, end: int) -> FloatArray | float:
    """Share of each size in each class that gets past all basins of a way."""
    out: FloatArray | float = 1.0
    for id in way:
        out = out * (1.0 - kept[id][kind][end])
    return out


def _mean(share: FloatArray | float, weight: FloatArray) -> float:
    """Mean over sizes and classes."""
    return share if isinstance(share, float) else float(np.sum(share @ weight)) / SIZES


def _amount(kind: Kind, mass: Span) -> DebrisAmount:
    low, best, high = kind.density_kg_m3
    room = mass.by(Span(1.0 / high, 1.0 / best, 1.0 / low))
    return DebrisAmount(kind.key, kind.mineral, kind.floats, mass, room)


def _gets_past(kind: Kind, load: Span, kept: dict[str, Kept], way: Sequence[str], rain: _Rain) -> Span:
    """What of a load gets past the basins of a way: least where they keep most."""
    ends = [_mean(_past(kept, way, kind.key, end), rain.shares[end]) for end in ENDS]
    return Span(load.low * ends[2], load.best * ends[1], load.high * ends[0])


def _well(
    scheme: Scheme,
    id: str,
    kept: dict[str, Kept],
    rain: _Rain,
    loads: dict[str, Loads],
    ways: dict[str, tuple[str, ...]],
    basins: dict[str, BasinDebris],
) -> WellDebris:
    spouts = scheme.upstream_downspouts(id)
    roof, on_time = [], []
    for kind in kinds():
        come, past = Span(0.0, 0.0, 0.0), Span(0.0, 0.0, 0.0)
        for spout in spouts:
            load = loads[spout.id][kind.key]
            come += load
            past += _gets_past(kind, load, kept, ways[spout.id], rain)
        roof.append(_amount(kind, come))
        on_time.append(_amount(kind, past))
    years = [
        _full_after(basins[basin])
        for basin in dict.fromkeys(basin for spout in spouts for basin in ways[spout.id])
        if basin in basins
    ]
    return WellDebris(
        well=id,
        roof_area_m2=sum(spout.roof_area_m2 for spout in spouts),
        beside_m2=sum(spout.roof_area_m2 for spout in spouts if not ways[spout.id]),
        from_roof=tuple(roof),
        on_time=tuple(on_time),
        never=tuple(roof),
        full_after_years=(
            Span(min(y.low for y in years), min(y.best for y in years), min(y.high for y in years))
            if years
            else None
        ),
    )


def _full_after(basin: BasinDebris) -> Span:
    """Years until a basin that nobody empties keeps no more: from half a sump on it washes out, at the latest when full."""
    half = basin.as_is.months_to_half
    return Span(half.low / 12.0, 2.0 * half.best / 12.0, 2.0 * half.high / 12.0)


def _basin(
    scheme: Scheme,
    survey: Survey,
    water: BasinWater,
    kept: dict[str, Kept],
    rain: _Rain,
    grains: Sequence[_Grains],
    loads: dict[str, Loads],
    ways: dict[str, tuple[str, ...]],
) -> BasinDebris:
    id = water.basin.id
    before = {spout: way[: way.index(id)] for spout, way in ways.items() if id in way}
    comes = []
    for kind in kinds():
        come = Span(0.0, 0.0, 0.0)
        for spout, way in before.items():
            come += _gets_past(kind, loads[spout][kind.key], kept, way, rain)
        comes.append(_amount(kind, come))

    def variant(key: str, changed: BasinWater) -> BasinVariant:
        own = kept[id] if key == "as it is" else _kept(changed, rain, grains)
        return _variant(key, changed.basin, own, rain, tuple(comes), before, loads, kept)

    others = tuple(variant(key, changed) for key, changed in _mended(scheme, survey, water))
    above = next((way[-1] for way in before.values() if way), None)
    return BasinDebris(
        basin=id,
        comes=tuple(comes),
        as_is=variant("as it is", water),
        others=others,
        rains=tuple(_in_rain(water, grains, rate, survey) for rate in _steady(survey)),
        half_sump_m3=_half_sump_m3(water.basin),
        below_another=above,
    )


def _variant(
    key: str,
    basin: Basin,
    own: Kept,
    rain: _Rain,
    comes: tuple[DebrisAmount, ...],
    before: dict[str, tuple[str, ...]],
    loads: dict[str, Loads],
    kept: dict[str, Kept],
) -> BasinVariant:
    keeps, past, shares = [], [], {}
    for kind, come in zip(kinds(), comes, strict=True):
        by_way: dict[tuple[str, ...], float] = {}
        for spout, way in before.items():
            by_way[way] = by_way.get(way, 0.0) + loads[spout][kind.key].best
        held, total = [0.0] * 3, [0.0] * 3
        for way, best in by_way.items():
            for end in ENDS:
                arrives = _past(kept, way, kind.key, 2 - end)
                held[end] += best * _mean(own[kind.key][end] * arrives, rain.shares[end])
                total[end] += best * _mean(arrives, rain.shares[end])
        if all(amount > 0 for amount in total):
            share = [h / t for h, t in zip(held, total, strict=True)]
        else:  # none comes at best, some at most: one weight for all downspouts
            share = [_mean(own[kind.key][end], rain.shares[end]) for end in ENDS]
        low, best, high = min(share), share[1], max(share)
        mass = come.mass_kg_year
        shares[kind.key] = Span(low, best, high)
        keeps.append(_amount(kind, Span(mass.low * low, mass.best * best, mass.high * high)))
        past.append(_amount(kind, Span(mass.low * (1 - high), mass.best * (1 - best), mass.high * (1 - low))))
    fill = total_m3_year(keeps)
    half = _half_sump_m3(basin)
    months = [months_to_fill(volume_m3=half, rate_m3_year=rate) for rate in (fill.high, fill.best, fill.low)]
    return BasinVariant(
        key,
        basin.sump_m,
        tuple(keeps),
        tuple(past),
        _together([come for come in comes if come.mineral], shares),
        _together([come for come in comes if not come.mineral], shares),
        Span(*months),
    )


def _together(comes: Sequence[DebrisAmount], shares: dict[str, Span]) -> Span:
    """Share kept of several kinds by the room that they take at best; of equal room where none comes."""
    weight = [come.volume_m3_year.best for come in comes]
    if sum(weight) <= 0:
        weight = [1.0] * len(comes)
    return Span(
        *(
            sum(w * getattr(shares[come.kind], end) for w, come in zip(weight, comes, strict=True))
            / sum(weight)
            for end in ("low", "best", "high")
        )
    )


def _half_sump_m3(basin: Basin) -> float:
    share = tables.limit("clean-out-share").value_si
    return share * max(0.0, basin.sump_m) * basin.plan_area_m2


def _mended(scheme: Scheme, survey: Survey, water: BasinWater) -> list[tuple[str, BasinWater]]:
    """Return the basin with each cheap part that it lacks, and with all of them."""
    basin = water.basin
    depth = tables.assumption("hood-depth", survey.style).value_si
    elbow = {
        "hood": True,
        "hood_air_hole": True,
        "hood_depth_m": basin.hood_depth_m or min(depth, 0.5 * max(0.0, basin.sump_m)),
    }
    parts: list[tuple[str, BasinWater]] = []
    if not basin.hood:
        parts.append(("elbow", water.with_basin(**elbow)))
    elif not basin.hood_air_hole:
        parts.append(("air hole", water.with_basin(**elbow)))
    if not basin.screen:
        parts.append(("screen", water.with_basin(screen=True)))
    fall = water.fall_m
    if fall is not None and (fall < -1e-6 or fall > tables.limit("inlet-fall-small", survey.style).value_si):
        parts.append(("higher inlet" if fall < 0 else "lower inlet", inlet_at_water(water)))
    leaving = scheme.run_from(basin.id)
    wanted = tables.limit("sump-diameters").value_si * (leaving.nominal_m if leaving is not None else 0.0)
    deeper = max(wanted - basin.sump_m, tables.assumption("sump-deeper", survey.style).value_si)
    parts.append(("deeper sump", water.with_basin(floor_m=basin.floor_m - deeper)))
    cheap = {} if basin.hood and basin.hood_air_hole else dict(elbow)
    if cheap and not basin.screen:
        both = water.with_basin(**elbow, screen=True)
        parts.append(("elbow and screen", both))
    return parts


def _in_rain(water: BasinWater, grains: Sequence[_Grains], rate_m_s: float, survey: Survey) -> InRain:
    basin, tanks = water.basin, tables.assumption("basin-tanks").value_si
    rate = np.array([rate_m_s * survey.settings["runoff_coefficient"]])
    flow = water.flow_m3_s(rate)
    jet = water.jet_m_s(rate, tables.limit("clean-out-share").value_si)
    viscosity = settling.water_viscosity_m2_s(temperature_c=tables.assumption("water-temperature").value_si)
    shares = []
    for grain in grains:
        share = kept_share(
            velocity_m_s=grain.velocity_m_s,
            flow_m3_s=flow,
            plan_area_m2=basin.plan_area_m2,
            tanks=tanks,
            jet_m_s=None if grain.kind.floats else jet,
            lifts_m_s=None if grain.kind.floats else grain.lifts_m_s[1],
        )
        if grain.kind.floats:
            share = _floating(basin, grain.kind, 1, share)
        shares.append((grain.kind.key, float(np.mean(share))))
    rests = settling.left_lying_m(
        velocity_m_s=float(jet[0]), cohesion_k=figure("cohesion")[1], friction_factor=figure("friction")[1]
    )
    coarsest = max(grain.kind.size_high_m for grain in grains if not grain.kind.floats)
    return InRain(
        rate_m_s,
        float(flow[0]),
        settling.overflow_rate_m_s(flow_m3_s=float(flow[0]), plan_area_m2=basin.plan_area_m2),
        settling.captured_grain_m(
            flow_m3_s=float(flow[0]), plan_area_m2=basin.plan_area_m2, viscosity_m2_s=viscosity
        ),
        tuple(shares),
        float(jet[0]),
        rests if rests <= coarsest else None,
    )
