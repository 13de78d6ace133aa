"""The mound of a long record is followed some steps at a time: the same rises and month, in a memory that stays flat."""

from __future__ import annotations

import gc
import tracemalloc

import numpy as np
import pytest
from scipy.signal import lfilter

from roofwell.physics.well import footprint
from roofwell.physics.well.mound import Aquifer
from roofwell.system import groundwater

HOUR_S, YEAR_S = 3600.0, 365 * 86400.0
SAND = Aquifer(6.0, 0.2, 2e-5, 1e-5)
FOOT = footprint.footprint(length_m=2.0, width_m=1.5, round_pit=False, least_area_m2=0.0)


def wells(years: int) -> tuple[groundwater._Soaking, ...]:
    rng = np.random.default_rng(20261129)
    out = []
    for middle in ((0.0, 0.0), (6.0, 2.0)):
        soaked = np.where(rng.random(years * 8766) < 0.1, rng.exponential(0.05, years * 8766), 0.0)
        soaked.setflags(write=False)
        out.append(groundwater._Soaking(SAND, FOOT, middle, 0.3, False, soaked))
    return tuple(out)


def top(of: tuple[groundwater._Soaking, ...]) -> tuple[float, float]:
    terms = groundwater._fitted(FOOT, SAND, True, HOUR_S, YEAR_S)
    return groundwater._tops.__wrapped__(of, 0, HOUR_S, YEAR_S, terms, True, True)


def beside(of: tuple[groundwater._Soaking, ...]) -> float:
    return groundwater._highest_at.__wrapped__(of, HOUR_S, (3.0, 8.0), YEAR_S)


def test_the_mound_piece_by_piece_is_the_mound_at_once() -> None:
    """Under a well by scipy's recursive filter of each term, beside it by one convolution of the whole record."""
    of = wells(12)
    terms = groundwater._fitted(FOOT, SAND, True, HOUR_S, YEAR_S)
    rates = [one.soaked_m3 / (HOUR_S * FOOT.area_m2) for one in of]
    times = np.geomspace(HOUR_S, YEAR_S, 48)

    def of_other(k: int, at: tuple[float, float]) -> np.ndarray:
        along, across = groundwater.beside(of[k].middle, 0.3, at, turned=False)
        answer = footprint.three_dimensional_s(FOOT, SAND, times, along_m=along, across_m=across)
        return footprint.superposed(times, answer, rates[k], step_s=HOUR_S, longest_s=YEAR_S)

    own = np.zeros(rates[0].size)
    for amount, tau in zip(terms.amount, terms.tau_s, strict=True):
        decay = np.exp(-HOUR_S / tau)
        own += lfilter([amount * (1.0 - decay)], [1.0, -decay], rates[0])
    rise = own + of_other(1, of[0].middle)
    sums = np.convolve(of[0].soaked_m3, np.ones(720), "valid")
    month = int(np.argmax(sums))
    assert groundwater.wettest_month(of[0].soaked_m3, HOUR_S) == slice(month, month + 720)
    assert month > 1 << 15  # not in the first piece
    assert top(of) == pytest.approx((rise.max(), rise[month : month + 720].max()), rel=1e-9)
    both = of_other(0, (3.0, 8.0)) + of_other(1, (3.0, 8.0))
    assert beside(of) == pytest.approx(both.max(), rel=1e-9)


@pytest.mark.parametrize("followed", [top, beside])
def test_memory_is_flat_in_the_length_of_the_record(followed) -> None:  # type: ignore[no-untyped-def]
    peaks = []
    for years in (10, 50):
        of = wells(years)
        followed(of)
        gc.collect()
        tracemalloc.start()
        followed(of)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] - peaks[0] < 100_000 < 40 * 8766 * 8 / 2
