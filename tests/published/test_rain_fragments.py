"""Hours split by fragments, against the reference sheet (rain 3.5) and brute force."""

from functools import cache

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.rain import fragments
from roofwell.physics.rain.record import record_from_series
from roofwell.tables import rain_library
from roofwell.tables.rain_fragments import fragment_source, load_fragments


@cache
def library() -> fragments.FragmentLibrary:
    shipped = load_fragments()
    return fragments.FragmentLibrary(shipped.parts_m, shipped.kind)


@pytest.mark.parametrize(
    ("low_mm", "high_mm", "share"), [(5, 10, 0.39), (10, 20, 0.32), (20, 40, 0.25), (40, 1e9, 0.20)]
)
def test_share_of_the_hour_in_its_wettest_five_minutes(low_mm, high_mm, share):
    """Rain 3.5, Singapore (24 of its gauges there, all 38 here): the share by the depth of the hour; uniform is .083."""
    parts = load_fragments().parts_m
    hour = parts.sum(axis=1)
    kept = (hour >= low_mm / 1000) & (hour < high_mm / 1000)
    assert (parts[kept].max(axis=1) / hour[kept]).mean() == pytest.approx(share, abs=0.015)


def test_shipped_patterns_are_as_listed():
    """Count, twelve parts, whole tenths of a millimeter, source and license named."""
    shipped, told = load_fragments(), fragment_source()
    assert shipped.parts_m.shape == (told.hours, 12)
    assert np.round(shipped.parts_m / 1e-4) * 1e-4 == pytest.approx(shipped.parts_m, abs=1e-12)
    assert "Singapore Open Data Licence" in told.license
    assert "National Environment Agency" in told.publisher


def test_volume_is_kept_and_dry_stays_dry():
    """Rain 3.5, conditions 1 and 2, over 31 years of hours; no part negative, wet hours not all in one part."""
    record = record_from_series(rain_library.load_record("chicago-midway-il"))
    parts = fragments.split(depth_m=record.depth_m, library=library(), seed=2017)
    assert parts.sum(axis=1) == pytest.approx(record.depth_m, rel=1e-12, abs=1e-15)
    assert not parts[record.depth_m == 0].any()
    assert (parts >= 0).all()
    wet = record.depth_m > 0.01
    assert 1.5 < (parts[wet] > 0).sum(axis=1).mean() <= 12


def test_split_of_measured_hours_gives_their_peaks_back():
    """Rain 3.5: library from other gauges and months, mean maximum 12.6 mm in 5 min where 12.4 was measured. Here every
    second hour serves as the library of the others: the mean of the ten largest peaks and the count over 6 mm within a
    sixth of those measured, where an even split gives a third of the peak and none over 6 mm."""
    shipped = load_fragments()
    half = fragments.FragmentLibrary(shipped.parts_m[::2], shipped.kind[::2])
    measured, kind = shipped.parts_m[1::2], shipped.kind[1::2]
    hour = measured.sum(axis=1)
    top, over = [], []
    for seed in range(5):
        parts = fragments.split(depth_m=hour, library=half, seed=seed, kind=kind)
        top.append(np.sort(parts.ravel())[-10:].mean())
        over.append(np.count_nonzero(parts > 0.006))
    assert np.mean(top) == pytest.approx(np.sort(measured.ravel())[-10:].mean(), rel=1 / 6)
    assert np.mean(over) == pytest.approx(np.count_nonzero(measured > 0.006), rel=1 / 6)
    even = hour / 12
    assert np.sort(even)[-10:].mean() < 0.6 * np.sort(measured.ravel())[-10:].mean()


def test_one_of_the_ten_nearest_by_brute_force():
    """Each split hour has the pattern of one of the ten library hours of its kind that are nearest in log depth; the
    nearest is drawn most often, about 34 % (1 over the tenth harmonic number, 2.929)."""
    random = np.random.default_rng(4)
    depth = np.exp(random.normal(-6.0, 1.2, 4000))
    depth[random.random(4000) < 0.4] = 0.0
    shipped = library()
    totals = shipped.parts_m.sum(axis=1)
    parts, kind = fragments.split(depth_m=depth, library=shipped, seed=9), fragments.kinds_of(depth)
    first = 0
    wet = np.flatnonzero(depth > 0)
    for step in wet:
        before, after = step > 0 and depth[step - 1] > 0, step + 1 < depth.size and depth[step + 1] > 0
        assert kind[step] == 2 * before + after
        same = np.flatnonzero(shipped.kind == kind[step])
        away = np.abs(np.log(totals[same]) - np.log(depth[step]))
        limit = np.sort(away)[9] + 1e-12
        near = same[away <= limit]
        scaled = shipped.parts_m[near] / totals[near, None] * depth[step]
        gap = np.abs(scaled - parts[step]).max(axis=1)
        assert gap.min() < 1e-12 * depth[step] + 1e-18
        first += np.abs(np.log(totals[near[gap.argmin()]]) - np.log(depth[step])) <= away.min() + 1e-12
    assert first / wet.size > 0.30


def test_same_seed_same_rain():
    depth = np.array([0.0, 0.004, 0.01, 0.0, 0.03])
    one, again, other = (fragments.split(depth_m=depth, library=library(), seed=seed) for seed in (1, 1, 2))
    assert np.array_equal(one, again)
    assert not np.array_equal(one, other)


def test_library_without_rain_is_refused():
    with pytest.raises(InputError, match="needs rain"):
        fragments.FragmentLibrary(np.zeros((40, 12)), np.repeat(np.arange(4), 10))
