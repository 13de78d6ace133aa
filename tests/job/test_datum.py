"""Elevations held against the level book, and pitches in degrees."""

from __future__ import annotations

import pytest

from roofwell.job import Reading, read_text

BOOK = (
    'document = 1\n[survey]\nunit = "ft"\nbenchmark = "B"\nbenchmark_elevation = 100\nreadings = [\n'
    '{ setup = "S1", kind = "backsight", point = "B", rod = 4.2 },\n'
    '{ setup = "S1", kind = "foresight", point = "T", rod = 12.2 },\n'
    '{ setup = "S2", kind = "backsight", point = "T", rod = 1.0 },\n'
    '{ setup = "S2", kind = "shot", point = "low", rod = 13.0, ground = true, at = [0, 0] },\n]\n'
)


def _read(more: str) -> Reading:
    return read_text(BOOK + more)


@pytest.mark.parametrize(
    "text",
    [
        '[features.U]\nkind = "utility"\ntop = "30 in"',
        '[features.E]\nkind = "existing drain"\ninvert = "3 ft"',
        '[buildings.H]\nlowest_floor = "8 ft"',
        '[downspouts.D]\njoint = "4 in"',
        '[overflows.O]\nof = "W"\nlip = "2 in"\n[wells.W]',
        '[soil]\nseasonal_high_water = "9 ft"',
        '[buildings.H]\nlowest_opening = "1100 ft"',
    ],
)
def test_a_depth_where_an_elevation_belongs_is_refused(text: str) -> None:
    """The book goes from 100 ft down to 92 + 1 - 13 = 80 ft over a turning point; 20 ft past it nothing is meant."""
    found = [p for p in _read(text).problems if p.code == "not-an-elevation"]
    assert len(found) == 1
    assert "between 80.00 ft and 104.20 ft" not in found[0].message
    assert "between 80.00 ft and 100.00 ft" in found[0].message


def test_elevations_near_the_level_book_stand() -> None:
    """A deep basement under the lowest shot, and an opening over the highest, are no slips."""
    reading = _read('[buildings.H]\nlowest_floor = "70 ft"\nlowest_opening = "110 ft"')
    assert not [p for p in reading.problems if p.code == "not-an-elevation"]
    assert reading.job is not None
    assert reading.job.buildings["H"].lowest_floor is not None


def test_nothing_is_held_against_a_book_that_is_not_there() -> None:
    """Without any elevation of a point there is nothing to compare with."""
    reading = read_text('document = 1\n[soil]\nseasonal_high_water = "9 ft"')
    assert not [p for p in reading.problems if p.code == "not-an-elevation"]


def test_a_pitch_may_be_given_in_degrees() -> None:
    """The tangent of 40 degrees is 0.83910 and of 45 degrees 1 in any table of tangents; a wall has no pitch."""
    for text, rise in (("40 deg", 0.83910), ("45°", 1.0), ("10 in 12", 10 / 12)):
        job = read_text(
            f'document = 1\n[roofs.R]\nplan_area = "40 m2"\npitch = "{text}"\ngutter = "G"\n[gutters.G]'
        ).job
        assert job is not None
        pitch = job.roofs["R"].pitch
        assert pitch is not None
        assert pitch.text == text
        assert pitch.value_si == pytest.approx(rise, abs=5e-6)
    steep = read_text('document = 1\n[roofs.R]\npitch = "89 deg"\n[runs.P]\nslope = "2 deg"').problems
    assert {p.path for p in steep if p.code == "quantity"} == {"roofs.R.pitch", "runs.P.slope"}


@pytest.mark.parametrize("elevation", ["1e300 ft", "-40000 ft", "10001 m"])
def test_no_ground_lies_higher_than_every_mountain(elevation: str) -> None:
    """The highest mountain is 8,849 m over the sea (from memory): a slip in an exponent is told where it stands."""
    point = (
        f'[[survey.points]]\nid = "curb"\nat = ["1 ft", "2 ft"]\nelevation = "{elevation}"\nground = true\n'
    )
    assert [p.code for p in read_text("document = 1\n" + point).problems] == ["not-on-earth"]
    fitting = point.replace(elevation, "8849 m")
    assert not [p for p in read_text("document = 1\n" + fitting).problems if p.code == "not-on-earth"]
