"""How far a scaled record's figures may be off: its stated range of the share taken in, carried over to spills a year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from roofwell import tables
from roofwell.physics import network
from roofwell.system.behaviour import Behaviour, DonorRange
from roofwell.system.facts import Survey
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import RecordBasis, Records, inflow_of, linked_stores, records

STRONGEST = 4.0  # rain is never tried stronger or weaker than this
WITHIN = 0.01


def donor_range(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, *, rate_m_s: float, record: RecordBasis
) -> DonorRange | None:
    """Return the range of the long record's figures; None where the record is one as measured, or no well takes it.

    The stated range is one of the share taken in. Spills a year that go with its ends are those of the same wells in the
    same record with every net depth so much greater or smaller that the share taken in moves by that much.
    """
    used = survey.rain.scaled_from
    if used is None or behaviour.record is None or not scheme.wells or record[0] is None:
        return None
    inflow = inflow_of(scheme, behaviour.downspouts)
    made = stores_of(scheme, survey, behaviour.downspouts, rate_m_s, record[0] * STRONGEST)
    stores = linked_stores(scheme, made)
    captured = behaviour.record.captured_share
    off = tables.limit("donor-captured").value_si
    least, most = max(captured - off, 0.0), min(captured + off, 1.0)
    runs = [
        _at(survey, stores, inflow, record, least, stronger=True),
        _at(survey, stores, inflow, record, most, stronger=False),
    ]
    donors = [(used.name, behaviour.record.spills_year, captured)]
    for other in survey.rain.donor.accepted[1:] if survey.rain.donor is not None else ():
        assert other.record is not None
        raised = 1.0 + (survey.rain.uplift if survey.rain.record_today is not None else 0.0)
        there = replace(other.record, depth_m=other.record.depth_m * raised)
        of_it = replace(survey, rain=replace(survey.rain, record=there, record_name=other.name))
        run = records(of_it, stores, inflow, record_basis(of_it))
        if run is not None:
            runs.append(run)
            donors.append((other.name, run.system.spills_year, run.system.captured_share))
    kept = [run for run in runs if run is not None]
    own = [well.record.spills_year if well.record is not None else 0.0 for well in behaviour.wells]
    each = np.array([own, *([well.spills_year for well in run.wells] for run in kept)])
    whole = [behaviour.record.spills_year, *(run.system.spills_year for run in kept)]
    shares = [least, most, *(run.system.captured_share for run in kept[2:])]
    return DonorRange(
        captured_low=min(shares),
        captured_high=max(shares),
        system_spills_year=(min(whole), max(whole)),
        spills_year=tuple(
            (well.id, float(each[:, j].min()), float(each[:, j].max())) for j, well in enumerate(scheme.wells)
        ),
        donors=tuple(donors),
    )


def _at(
    survey: Survey,
    stores: Sequence[network.Store],
    inflow: Inflow,
    record: RecordBasis,
    share: float,
    *,
    stronger: bool,
) -> Records | None:
    """Run the record with its net rain raised or lowered until the wells take in a share of it, by halving."""
    net, found = record
    assert net is not None

    def run(times: float) -> Records | None:
        return records(survey, stores, inflow, (net * times, found))

    far = STRONGEST if stronger else 1.0 / STRONGEST
    low, high = min(1.0, far), max(1.0, far)
    end = run(far)
    if end is None or (end.system.captured_share > share if stronger else end.system.captured_share < share):
        return end
    while high / low > 1.0 + WITHIN:
        middle = float(np.sqrt(low * high))
        tried = run(middle)
        if tried is None:
            return None
        if tried.system.captured_share >= share:
            low = middle
        else:
            high = middle
    return run(high if stronger else low)  # the end on the far side of the stated share
