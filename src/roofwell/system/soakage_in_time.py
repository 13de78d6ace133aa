"""The wells through the record as cold water and silt change their soakage: curves swapped month by month."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from roofwell.physics import network
from roofwell.physics.soil.infiltration import viscosity_ratio
from roofwell.system.behaviour import FloatArray
from roofwell.system.beyond_facts import SoakageInTime
from roofwell.system.facts import Soil, Survey
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import SPILL_SHARE, RecordBasis
from roofwell.tables.trials import trial

UNKNOWN = (
    "what the temperature of each month does is unknown: write the temperature of the water in every soil test "
    "(water_temperature)"
)


def soakage_in_time(
    scheme: Scheme, survey: Survey, inflow: Inflow, stores: Sequence[network.Store], record: RecordBasis
) -> tuple[SoakageInTime, ...]:
    """Return every well month by month and year by year; nothing where the job says nothing of either.

    ``stores``: joined, with the design's rate and model. Soakage goes with the rate, and the rate with the inverse of
    the water's viscosity, so the time to empty goes with it.
    """
    soil = survey.soil
    if not scheme.wells or not (soil.month_c or soil.silting_year > 0):
        return ()
    shares = month_shares(soil)
    note = UNKNOWN if soil.month_c and not shares else ""
    cold = min(range(len(shares)), key=shares.__getitem__) if shares else None
    years = trial("life")
    left = (1.0 - soil.silting_year) ** years
    spills = _spills(survey, inflow, stores, record, shares or (1.0,) * 12)
    out = []
    for j, well in enumerate(scheme.wells):
        drain = network.drain_time_s(stores[j], float(stores[j].volume_m3[-1]))
        share = shares[cold] if cold is not None else 1.0
        out.append(
            SoakageInTime(
                well=well.id,
                cold_month=cold + 1 if cold is not None else None,
                cold_c=soil.month_c[cold] if cold is not None else None,
                cold_share=share if cold is not None else None,
                cold_drain_s=drain / share if cold is not None else None,
                old_years=years if soil.silting_year > 0 else None,
                old_drain_s=drain / share / left if soil.silting_year > 0 and left > 0 else None,
                spills_year=spills[j] if spills is not None and not note else None,
                note=note,
            )
        )
    return tuple(out)


def month_shares(soil: Soil) -> tuple[float, ...]:
    """Return the soakage of each month over that of the tested rate, January first; none where it is not known."""
    if not soil.month_c or soil.water_c is None:
        return ()
    return tuple(viscosity_ratio(soil.water_c) / viscosity_ratio(warmth) for warmth in soil.month_c)


def _spills(
    survey: Survey,
    inflow: Inflow,
    stores: Sequence[network.Store],
    record: RecordBasis,
    shares: Sequence[float],
) -> list[float] | None:
    """Spills a year of each well, its soakage another one in every month of the record."""
    (net, found), rain = record, survey.rain.record
    if net is None or found is None or rain is None:
        return None
    step = float(rain.step_s)
    arriving, refused = inflow(net * survey.settings["runoff_coefficient"] / step)
    months = rain.times().astype("datetime64[M]").astype(np.int64)
    year = (months - months[0]) // 12
    factor = np.asarray(shares)[months % 12] * (1.0 - survey.soil.silting_year) ** year
    lost = lost_by_step(stores, arriving, months, factor, step)
    out = []
    for j, store in enumerate(stores):
        steps = np.flatnonzero(lost[:, j] + refused[:, j] * step > SPILL_SHARE * float(store.volume_m3[-1]))
        out.append(np.unique(found.event_of_step[steps]).size / rain.years)
    return out


def lost_by_step(
    stores: Sequence[network.Store],
    arriving_m3_s: FloatArray,
    months: NDArray[np.int64],
    factor: FloatArray,
    step_s: float,
) -> FloatArray:
    """Return what each well does not take in each step, m³, shape (n, wells), the curves swapped where the month changes.

    ``months`` numbers the month of each step and ``factor`` gives its soakage over the stores' own, both shape (n,),
    constant within a month. What stands in a well at a month's end stands in it at the next one's beginning.
    """
    lost = np.zeros_like(arriving_m3_s)
    standing = [0.0] * len(stores)
    ends = [*(np.flatnonzero(np.diff(months)) + 1).tolist(), len(months)]
    begin = 0
    for end in ends:
        swapped = [_scaled(store, float(factor[begin])) for store in stores]
        traces = network.simulate(swapped, arriving_m3_s[begin:end], step_s=step_s, start_m3=standing)
        for j, trace in enumerate(traces):
            lost[begin:end, j] = trace.spilled_m3 + trace.refused_m3
        standing = [float(trace.volume_end_m3[-1]) for trace in traces]
        begin = end
    return lost


def _scaled(store: network.Store, factor: float) -> network.Store:
    below = store.soakage_below_m3_s
    return replace(
        store,
        soakage_m3_s=store.soakage_m3_s * factor,
        soakage_below_m3_s=None if below is None else below * factor,
    )
