"""The rules of sizing and the trials: every row readable, and the published volumes follow from the rows."""

from __future__ import annotations

import pytest

from roofwell import tables
from roofwell.errors import InternalError
from roofwell.tables.trials import Standard, standards, trial

FT2, FT3 = 0.3048**2, 0.3048**3
BY_KEY: dict[str, Standard] = {rule.key: rule for rule in standards()}


@pytest.mark.parametrize(
    ("key", "area_m2", "volume_m3", "rounding_m3"),
    [
        # reference sheet, infiltration, section 0; the sheet's own marks stand in the rows
        ("pa-small-project", 824 * FT2, 140.08 * FT3, 0.01 * FT3),  # D1, printed 140
        ("uk-ring", 3 * 6.5, 0.78, 0.005),  # D3
        ("uk-rubble", 50.0, 0.833, 0.001),  # D4, printed 0.84
        ("uk-small-roofs", 25.0, 0.25, 1e-9),  # D6
        ("ma-recharge", 0.75 * 43560 * FT2, 1633.5 * FT3, 0.01 * FT3),  # D11
        ("first-flush", 1000 * FT2, 83.33 * FT3, 0.01 * FT3),  # D17
        ("homeowner-rule", 600 * FT2, 100 * FT3, 1e-9),  # D18: area over 6
        # trade sheet, recomputed: a village's 12,442 sq ft and its first inch
        ("first-flush", 12442 * FT2, 1037 * FT3, 0.5 * FT3),
    ],
)
def test_a_rule_of_depth_gives_the_published_volume(
    key: str, area_m2: float, volume_m3: float, rounding_m3: float
) -> None:
    depth = BY_KEY[key].depth_m
    assert depth is not None
    assert depth * area_m2 == pytest.approx(volume_m3, abs=rounding_m3)


def test_the_ring_rule_of_12_mm() -> None:
    """D5: h = 0.048 A/(pi D^2) for A 100 m2 and D 1.8 m is 0.4716 m, 1.2 m3 in the ring."""
    depth = BY_KEY["uk-no-outflow"].depth_m
    assert depth is not None
    assert 100 * depth / (3.141592653589793 * 1.8**2 / 4) == pytest.approx(0.4716, abs=1e-4)


def test_every_rule_is_of_one_kind_and_says_how_it_was_seen() -> None:
    seen = {"seen", "second-hand", "from memory", "common practice"}
    assert len(BY_KEY) == len(standards())
    for rule in standards():
        given = [rule.depth_m is not None, rule.years is not None, rule.time_s is not None]
        assert sum(given) == 1, rule.key
        assert rule.kind in ("depth", "storm", "half-empty", "empty"), rule.key
        assert ("{depth}" in rule.what) == (rule.kind == "depth"), rule.key
        assert rule.seen in seen, rule.key
        assert rule.source in tables.sources(), rule.key


def test_every_trial_reads_and_an_unknown_one_is_our_own_fault() -> None:
    for row in tables.rows("trials"):
        assert trial(row["key"]) >= 0
        assert row["what"]
    assert trial("storm-gap") == 86400
    assert trial("half-soil") == 0.5
    with pytest.raises(InternalError):
        trial("no-such-trial")
