"""The wells through the record as cold water and years of silt change their soakage: curves swapped month by month."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from roofwell.physics import network
from roofwell.physics.soil.infiltration import viscosity_ratio
from roofwell.system.aged_stores import scaled
from roofwell.system.behaviour import FloatArray
from roofwell.system.beyond_facts import SoakageInTime
from roofwell.system.facts import Soil, Survey
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import SPILL_SHARE, RecordBasis

StoresAt = Callable[[float], Sequence[network.Store]]
UNKNOWN = (
    "what the temperature of each month does is unknown: write the temperature of the water in every soil test "
    "(water_temperature)"
)


def soakage_in_time(
    scheme: Scheme,
    survey: Survey,
    inflow: Inflow,
    stores: Sequence[network.Store],
    record: RecordBasis,
    aged: StoresAt | None = None,
) -> tuple[SoakageInTime, ...]:
    """Return every well month by month and year by year; nothing where the job does not say the months' temperatures.

    ``stores``: joined, with the design's rate and model. ``aged``: those of an age, years; left out they stay new. Soakage
    goes with the rate, and the rate with the inverse of the water's viscosity, so the time to empty goes with it.
    """
    soil = survey.soil
    if not scheme.wells or not soil.month_c:
        return ()
    shares = month_shares(soil)
    note = "" if shares else UNKNOWN
    cold = min(range(len(shares)), key=shares.__getitem__) if shares else None
    spills = _spills(survey, inflow, stores, record, shares, aged) if shares else None
    out = []
    for j, well in enumerate(scheme.wells):
        drain = network.drain_time_s(stores[j], float(stores[j].volume_m3[-1]))
        share = shares[cold] if cold is not None else None
        out.append(
            SoakageInTime(
                well=well.id,
                cold_month=cold + 1 if cold is not None else None,
                cold_c=soil.month_c[cold] if cold is not None else None,
                cold_share=share,
                cold_drain_s=drain / share if share is not None else None,
                spills_year=spills[j] if spills is not None else None,
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
    aged: StoresAt | None,
) -> list[float] | None:
    """Spills a year of each well, its soakage another one in every month of the record, the well a year older each year."""
    (net, found), rain = record, survey.rain.record
    if net is None or found is None or rain is None:
        return None
    step = float(rain.step_s)
    arriving, refused = inflow(net * survey.settings["runoff_coefficient"] / step)
    months = rain.times().astype("datetime64[M]").astype(np.int64)
    lost = lost_by_step(stores, arriving, months, np.asarray(shares)[months % 12], step, aged)
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
    aged: StoresAt | None = None,
) -> FloatArray:
    """Return what each well does not take in each step, m³, shape (n, wells), the curves swapped where the month changes.

    ``months`` numbers the month of each step and ``factor`` gives its soakage over the stores' own, both shape (n,),
    constant within a month. ``aged`` gives the stores of an age, years; whole years from the first month count. What stands
    in a well at a month's end stands in it at the next one's beginning, at the same level over the floor.
    """
    lost = np.zeros_like(arriving_m3_s)
    standing = [0.0] * len(stores)
    old = list(stores)
    ends = [*(np.flatnonzero(np.diff(months)) + 1).tolist(), len(months)]
    begin = 0
    for end in ends:
        if aged is not None:
            now = list(aged(float((months[begin] - months[0]) // 12)))
            for j, store in enumerate(now):  # what the bed has grown by stands no longer as water
                full = float(store.volume_m3[-1])
                standing[j] = min(max(0.0, standing[j] + full - float(old[j].volume_m3[-1])), full)
            old = now
        swapped = [scaled(store, float(factor[begin])) for store in old]
        traces = network.simulate(swapped, arriving_m3_s[begin:end], step_s=step_s, start_m3=standing)
        for j, trace in enumerate(traces):
            lost[begin:end, j] = trace.spilled_m3 + trace.refused_m3
        standing = [float(trace.volume_end_m3[-1]) for trace in traces]
        begin = end
    return lost
