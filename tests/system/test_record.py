"""The long record: each well's own, the system's, and the range that the soil leaves."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from roofwell.checks.record_words import spills
from roofwell.design.judging import Judged
from roofwell.physics import network
from roofwell.system import well_record
from roofwell.system.behaviour import RecordResult

Document = dict[str, Any]
TESTS = [
    {"id": "A1", "rate": "15 min/in"},
    {"id": "A2", "rate": "60 min/in"},
    {"id": "A3", "rate": "240 min/in"},
]


def _two_wells(house: Document, *, to: str | None) -> None:
    house["wells"]["W2"] = {"at": ["56 ft", "100 ft"]}
    house["overflows"]["O2"] = {"of": "W2", "destination": "over the back lawn", "lip": "97.4 ft"}
    house["runs"] = {"P1": {"from": "D2", "to": "W2"}}
    if to is not None:
        house["overflows"]["O1"] |= {"to": to}
        house["overflows"]["O1"].pop("destination")


def _judged(house: Document, judged_of: Callable[..., Judged], **kind: Any) -> Judged:
    return judged_of(house, record=True, bodies=1, diameter="18 in", height="24 in", around="9 in", **kind)


def test_one_well_is_the_system(house: Document, judged_of: Callable[..., Judged]) -> None:
    behaviour = _judged(house, judged_of).behaviour
    assert behaviour.record is not None
    assert behaviour.wells[0].record is not None
    assert behaviour.record.spill_events == behaviour.wells[0].record.spill_events > 0
    assert behaviour.record.captured_share == pytest.approx(
        behaviour.wells[0].record.captured_share, rel=1e-9
    )


def test_two_wells_side_by_side_add_up(house: Document, judged_of: Callable[..., Judged]) -> None:
    """No well hands on to the other: the volumes add up, and spills of both at once count once."""
    _two_wells(house, to=None)
    behaviour = _judged(house, judged_of).behaviour
    system, own = behaviour.record, [well.record for well in behaviour.wells]
    assert system is not None
    assert all(record is not None for record in own)
    records: list[RecordResult] = [record for record in own if record is not None]
    assert system.spilled_m3_year == pytest.approx(sum(r.spilled_m3_year for r in records), rel=1e-9)
    assert system.refused_m3_year == pytest.approx(sum(r.refused_m3_year for r in records), rel=1e-9)
    most, total = max(r.spill_events for r in records), sum(r.spill_events for r in records)
    assert most <= system.spill_events < total
    captured = [
        well.roof_area_m2 * r.captured_share for well, r in zip(behaviour.wells, records, strict=True)
    ]
    area = sum(well.roof_area_m2 for well in behaviour.wells)
    assert system.captured_share == pytest.approx(sum(captured) / area, rel=1e-6)


def test_what_one_well_hands_on_has_not_left_the_system(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    _two_wells(house, to="W2")
    behaviour = _judged(house, judged_of).behaviour
    first, second = (well.record for well in behaviour.wells)
    system = behaviour.record
    assert first is not None
    assert second is not None
    assert system is not None
    assert first.spilled_m3_year > 0
    assert system.spilled_m3_year == pytest.approx(second.spilled_m3_year, rel=1e-9)
    assert system.captured_share > second.captured_share
    assert system.captured_share > first.captured_share


def test_the_sum_against_a_plain_loop() -> None:
    """Two stores in a row by hand: 1 m³ each, no soakage, 3 m³ into the first: 1 m³ leaves over the ground."""
    stores = [
        network.Store(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), None, 1, 0.0),
        network.Store(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), None, None, 0.0),
    ]
    events = type("E", (), {"event_of_step": np.array([0, 0, 1]), "count": 2})()
    record = type("R", (), {"step_s": 1.0, "years": 1.0, "yearly_mean_m": 3.0, "share_missing": 0.0})()
    rain = type("F", (), {"record": record, "record_name": "by hand", "snow_months": None})()
    survey = type("S", (), {"rain": rain, "settings": {"runoff_coefficient": 1.0}})()

    def inflow(rate: Any) -> Any:
        return np.stack([rate, 0 * rate], axis=1), np.zeros((len(rate), 2))

    found = well_record.records(survey, stores, inflow, (np.array([1.5, 0.0, 1.5]), events))  # type: ignore[arg-type]
    assert found is not None
    assert [record.spilled_m3_year for record in found.wells] == pytest.approx([2.0, 1.0])
    assert [record.spill_events for record in found.wells] == [2, 1]
    assert found.system.spilled_m3_year == pytest.approx(1.0)
    assert found.system.spill_events == 1
    assert found.system.captured_share == pytest.approx(2 / 3)
    assert found.wells[0].captured_share == pytest.approx(1 / 3)


def test_the_soil_s_spread_gives_a_range(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["soil"] = {"percolation_tests": TESTS, "seasonal_high_water": "84 ft"}
    judged = _judged(house, judged_of)
    well = judged.behaviour.wells[0]
    assert well.record is not None
    assert well.record_low is not None
    assert well.record_high is not None
    assert well.record_high.spills_year < well.record.spills_year < well.record_low.spills_year
    sentence = next(a.sentence for a in judged.answers if a.question == 5)
    figures = (well.record.spills_year, well.record_high.spills_year, well.record_low.spills_year)
    assert "{:.1f} ({:.1f} to {:.1f}) times a year".format(*figures) in sentence


def test_one_test_gives_no_range(house: Document, judged_of: Callable[..., Judged]) -> None:
    judged = _judged(house, judged_of)
    assert judged.behaviour.wells[0].record_low is None
    assert judged.behaviour.record_low is None


def test_a_search_does_not_pay_for_the_range(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["soil"] = {"percolation_tests": TESTS, "seasonal_high_water": "84 ft"}
    assert _judged(house, judged_of, whole=False).behaviour.wells[0].record_low is None


def test_unknown_soil_is_told_as_a_range_alone(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["soil"] = {"texture": "loam", "seasonal_high_water": "84 ft"}
    judged = _judged(house, judged_of)
    sentence = next(a.sentence for a in judged.answers if a.question == 5)
    assert re.search(
        r"spilled \d+\.\d to \d+\.\d times a year, from the fastest to the slowest soil", sentence
    )


def test_several_wells_are_each_told(house: Document, judged_of: Callable[..., Judged]) -> None:
    _two_wells(house, to=None)
    judged = _judged(house, judged_of)
    one, two = (f"{well.id} {well.record.spills_year:.1f}" for well in judged.behaviour.wells if well.record)
    sentence = next(a.sentence for a in judged.answers if a.question == 5)
    assert f"{one} and {two}" in sentence
    assert judged.behaviour.record is not None
    assert (
        f"All together water would have come out {judged.behaviour.record.spills_year:.1f} times a year"
        in sentence
    )


def test_a_spread_that_reaches_over_the_target_is_close(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Good with the mean of the tests, not with the slowest: met by less than the stated uncertainty."""
    house["soil"] = {"percolation_tests": TESTS, "seasonal_high_water": "84 ft"}
    first = _judged(house, judged_of).behaviour.wells[0]
    assert first.record is not None
    assert first.record_low is not None
    middle = (first.record.spills_year + first.record_low.spills_year) / 2
    house["targets"] = {"spills": f"{middle:.2f} a year"}
    house["place"] |= {"latitude": 41.786, "longitude": -87.752}  # beside the record's gauge
    found = next(f for f in _judged(house, judged_of).findings if f.code == "spills-a-year")
    assert found.verdict == "close"


def test_words_of_spills(house: Document, judged_of: Callable[..., Judged]) -> None:
    judged = _judged(house, judged_of)
    record = judged.behaviour.record
    assert record is not None
    best, slow, fast = (replace(record, spills_year=figure) for figure in (2.1, 6.0, 0.4))
    assert spills(best, slow, fast, known=True) == "2.1 (0.4 to 6.0)"
    assert spills(best, slow, fast, known=False) == "0.4 to 6.0"
    assert spills(best, best, best, known=True) == "2.1"
    assert spills(best, None, None, known=True) == "2.1"
