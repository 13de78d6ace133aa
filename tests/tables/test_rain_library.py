"""The rain that ships with the package: checksums, sources, distances, doubtful hours."""

import math
import time
from importlib import resources

import numpy as np
import pytest

from roofwell import tables
from roofwell.errors import InputError
from roofwell.tables import rain_library


def test_files_have_their_checksums():
    """No stored file was altered."""
    assert rain_library.verify() == ()


def test_agency_tables_are_the_files_as_published():
    """Checksums of the two point tables as noted when they were fetched."""
    sums = {entry.id: entry.sha256 for entry in rain_library.entries("table")}
    assert sums == {
        "nashville-tn-table": "00d8177cde9ae65c4bd2dc66870ce6fa8ff654f1eb96eb9ddb75c8d8aaec1fe9",
        "fort-myers-fl-table": "b05a0cd7bbf80e4ee2898624d0c15085e95b65d8ad1fdbb4b034c5c6c2e76719",
    }


def test_every_entry_is_whole():
    """Each has a source, a license, a climate, a file that loads and the yearly mean of its list."""
    for entry in rain_library.entries():
        assert tables.source(entry.source).title
        assert entry.license
        assert entry.climate
        if entry.kind == "table":
            assert rain_library.load_table(entry.id).depth_m.shape == (19, 10)
            continue
        steps = rain_library.load_record(entry.id, keep_doubtful=True)
        assert entry.years is not None
        mean = steps.depth_m.sum() / entry.years
        assert mean == pytest.approx(entry.yearly_mean_m, abs=0.006 * 0.0254)


def test_the_library_is_small():
    """All rain in the package stays under 1.5 MB."""
    folder = resources.files("roofwell.tables") / "rain"
    assert sum(len(file.read_bytes()) for file in folder.iterdir()) < 1.5e6


def test_loading_a_record_is_quick():
    """The longest record, 66 years of hours, loads in under 40 ms."""

    def once() -> float:
        begins = time.perf_counter()
        rain_library.load_record("amarillo-tx")
        return time.perf_counter() - begins

    assert min(once() for _ in range(5)) < 0.040


def test_doubtful_hours_are_missing_unless_kept():
    """Two hours at Landisville look like sums; they are said either way."""
    cleaned = rain_library.load_record("landisville-pa")
    kept = rain_library.load_record("landisville-pa", keep_doubtful=True)
    assert np.count_nonzero(cleaned.missing) == np.count_nonzero(kept.missing) + 2
    assert (kept.depth_m.sum() - cleaned.depth_m.sum()) / 0.0254 == pytest.approx(3.59 + 3.86)
    for steps, end in ((cleaned, "left missing"), (kept, "kept")):
        doubtful = [r.text for r in steps.remarks if r.code == "rain-doubtful"]
        assert len(doubtful) == 2
        assert "1976-10-31T23:00:00: 3.86 in" in doubtful[1]
        assert all(text.endswith(end) for text in doubtful)


def test_nearest_ranks_by_distance():
    """A house in Nashville has the Nashville table; the next is far away and says so."""
    first, second = rain_library.nearest(latitude_deg=36.16, longitude_deg=-86.78, kind="table", style="us")
    assert (first.entry.id, first.of_this_place, first.note) == ("nashville-tn-table", True, "")
    assert (second.entry.id, second.of_this_place) == ("fort-myers-fl-table", False)
    assert second.note.startswith("not of this place: Fort Myers, FL is ")
    assert second.note.endswith("away; subtropical coast")
    ranked = rain_library.nearest(latitude_deg=40.0, longitude_deg=-75.0, kind="record", style="us")
    assert ranked[0].entry.id == "landisville-pa"
    assert [r.distance_m for r in ranked] == sorted(r.distance_m for r in ranked)
    assert {r.entry.kind for r in ranked} == {"record"}


@pytest.mark.parametrize(
    ("latitude", "longitude", "share_of_circle"),
    [(26.6 + 45, -81.9, 1 / 8), (-26.6, 98.1, 1 / 2), (26.6, -81.9, 0)],
)
def test_distance_on_the_sphere(latitude, longitude, share_of_circle):
    """45 degrees of latitude are an eighth of the circumference, the antipode half (derived)."""
    ranked = rain_library.nearest(latitude_deg=latitude, longitude_deg=longitude, kind="table", style="us")
    found = next(r for r in ranked if r.entry.id == "fort-myers-fl-table")
    assert found.distance_km == pytest.approx(2 * math.pi * 6371.0088 * share_of_circle, abs=1e-3)


@pytest.mark.parametrize(("north_m", "near"), [(16093.0, True), (16095.0, False)])
def test_ten_miles_are_of_this_place(north_m, near):
    """The limit is 10 mi, 16093.44 m."""
    latitude = 36.1253 + math.degrees(north_m / 6371008.8)
    first = rain_library.nearest(latitude_deg=latitude, longitude_deg=-86.6764, kind="table", style="us")[0]
    assert first.of_this_place is near


@pytest.mark.parametrize(("latitude", "longitude"), [(90.1, 0), (0, 180.1), (float("nan"), 0)])
def test_coordinates_that_are_none(latitude, longitude):
    """Outside the globe is refused."""
    with pytest.raises(InputError) as caught:
        rain_library.nearest(latitude_deg=latitude, longitude_deg=longitude, kind="table", style="us")
    assert caught.value.code == "rain-place"


@pytest.mark.parametrize(
    "call",
    [
        lambda: rain_library.entry("atlantis"),
        lambda: rain_library.load_table("cairo-il"),
        lambda: rain_library.load_record("nashville-tn-table"),
    ],
)
def test_unknown_ids_name_the_known(call):
    """A wrong id is answered with the ids there are."""
    with pytest.raises(InputError, match="-") as caught:
        call()
    assert caught.value.code == "rain-library-id"
