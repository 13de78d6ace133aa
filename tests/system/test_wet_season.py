"""How the seasonal high water is known: seen in the wet season, mottling, a record; seen in a dry month it is a range.

The window is that of two offices' rules, November to April (a UK county and a Massachusetts code, second-hand).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from roofwell.design.judging import Judged
from roofwell.system.soil_ground import out_of_wet_season

Document = dict[str, Any]
WET = {11, 12, 1, 2, 3, 4}


@pytest.mark.parametrize("month", range(1, 13))
def test_the_window_is_the_published_one_and_half_a_year_off_in_the_south(month: int) -> None:
    day = date(2026, month, 15)
    assert out_of_wet_season(day, 42.0) == (month not in WET)
    assert out_of_wet_season(day, None) == (month not in WET)
    assert out_of_wet_season(day, -42.0) == (month in WET)
    assert not out_of_wet_season(None, 42.0)


def _separation(judged: Judged) -> Any:
    return next(f for f in judged.findings if f.code == "separation")


def _seen(house: Document, depth: str, day: str | None) -> Document:
    soil = house["soil"]
    for key in ("seasonal_high_water", "high_water_known_by"):
        soil.pop(key, None)
    soil["water_seen_depth"] = depth
    if day is not None:
        soil["water_seen_date"] = date.fromisoformat(day)
    return house


@pytest.mark.parametrize(
    ("depth", "day", "verdict"),
    [
        ("14 ft", "2026-02-20", "good"),
        ("14 ft", "2026-08-20", "unknown"),
        ("14 ft", None, "good"),
        ("3 ft", "2026-08-20", "fails"),  # even as low as it was seen it stands in the pit
    ],
)
def test_water_seen_outside_the_wet_season_leaves_a_range(
    depth: str, day: str | None, verdict: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    judged = judged_of(_seen(house, depth, day))
    finding = _separation(judged)
    assert finding.verdict == verdict
    if verdict == "unknown":
        (well,) = judged.scheme.wells
        assert finding.low == pytest.approx(well.bottom_m - well.ground_m)
        assert finding.high == pytest.approx(finding.value) and finding.value > 0
        assert [item.leaf for item in finding.missing] == ["soil.seasonal_high_water"]
        assert "outside the wet season" in finding.sentence


def test_mottling_is_the_mark_of_wet_seasons_whatever_the_day(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    document = _seen(house, "14 ft", "2026-08-20")
    document["soil"]["layers"] = [
        {"top": "0 ft", "bottom": "12 ft"}, {"top": "12 ft", "bottom": "14 ft", "mottled": True}
    ]  # fmt: skip
    assert _separation(judged_of(document)).verdict == "good"


@pytest.mark.parametrize(
    ("by", "verdict"), [("observed", "unknown"), ("well record", "good"), ("mottling", "good")]
)
def test_a_given_level_goes_by_how_it_is_known(
    by: str, verdict: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"]["high_water_known_by"] = by
    house["soil"]["high_water_date"] = date(2026, 8, 20)
    assert _separation(judged_of(house)).verdict == verdict
