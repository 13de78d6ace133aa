"""The first look at a house: figures at once, places as leaves, the stop; over the service, as the page asks."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

Edits = list[dict[str, Any]]


def _edit(path: str, value: Any) -> dict[str, Any]:
    return {"path": path, "value": value}


def _begun(page: TestClient, units: str = "us") -> str:
    made = page.post("/api/first", json={"name": 'Corner "house" (invented)', "units": units, "who": "Ada"})
    assert made.status_code == 201
    return str(made.json()["job"])


def _look(page: TestClient, job: str, edits: Edits = [], **answers: Any) -> dict[str, Any]:  # noqa: B006
    said = page.post(f"/api/jobs/{job}/first", json={"base": 1, "edits": edits, **answers})
    assert said.status_code == 200, said.text
    return dict(said.json())


def _roof(number: int, area: str) -> Edits:
    return [
        _edit(f"roofs.R{number}", {"plan_area": area, "gutter": f"G{number}"}),
        _edit(f"gutters.G{number}", {}),
        _edit(f"downspouts.D{number}", {"gutter": f"G{number}"}),
    ]


RAIN = _edit(
    "rain.depths",
    [
        {"duration": "5 min", "return_period": "10 yr", "depth": "0.5 in"},
        {"duration": "1 h", "return_period": "10 yr", "depth": "2 in"},
        {"duration": "24 h", "return_period": "10 yr", "depth": "4 in"},
    ],
)


def test_a_new_house_holds_nothing_that_nobody_measured(page: TestClient) -> None:
    job = _begun(page)
    opened = page.get(f"/api/jobs/{job}").json()
    assert opened["summary"]["name"] == 'Corner "house" (invented)'
    assert set(opened["values"]) == {"document", "job", "frame", "survey"}
    said = _look(page, job)
    assert said["problems"] == []
    assert (said["look"]["roofs"], said["look"]["levels"], said["look"]["fall"]) == ([], [], [])


def test_roof_times_rain(page: TestClient) -> None:
    """By hand, with 7.4805 gal to the cubic foot: 4 x 500 sq ft x 6 in/h / 12 / 60 x 7.4805 = 124.7 gpm."""
    job = _begun(page)
    edits = [RAIN, *(edit for n in (1, 2, 3, 4) for edit in _roof(n, "25 ft x 20 ft"))]
    look = _look(page, job, edits)["look"]
    assert [row["label"] for row in look["roofs"]] == ["D1", "D2", "D3", "D4"]
    assert {row["area"] for row in look["roofs"]} == {"500 sq ft"}
    assert look["whole_roof"]["flow"] == "125 gpm"
    assert "6 in/h for 5 min" in look["cloudburst"].replace("6.00", "6")
    assert look["rain_of_this_place"] is True


def test_rain_of_elsewhere_is_said(page: TestClient) -> None:
    look = _look(page, _begun(page), [_edit("place.name", "Marietta, OH")])["look"]
    assert look["rain_of_this_place"] is False
    assert "not of Marietta, OH" in look["rain"]


def test_elevations_and_the_fall_available(page: TestClient) -> None:
    """BM 100.00 and 4.35 give 104.35; a rod of 7.15 then stands at 97.20 (by hand)."""
    job = _begun(page)
    rods = [("D1", "4.85 ft"), ("place for the well", "7.15 ft"), ("lowest opening of the house", "4.60 ft")]
    readings = [{"setup": "S1", "kind": "backsight", "point": "BM", "rod": "4.35 ft"}]
    readings += [{"setup": "S1", "kind": "shot", "point": p, "rod": rod} for p, rod in rods]
    look = _look(page, job, [*_roof(1, "20 ft x 20 ft"), _edit("survey.readings", readings)])["look"]
    assert {row["point"]: row["elevation"] for row in look["levels"]} == {
        "D1": "99.50 ft",
        "place for the well": "97.20 ft",
        "lowest opening of the house": "99.75 ft",
    }
    assert look["fall_whole"].startswith("2.30 ft of fall")
    assert _edit("buildings.H1.lowest_opening", "99.75 ft") in look["edits"]


def test_a_low_place_that_lies_high_is_said(page: TestClient) -> None:
    readings = [
        {"setup": "S1", "kind": "backsight", "point": "BM", "rod": "4 ft"},
        {"setup": "S1", "kind": "shot", "point": "D1", "rod": "5 ft"},
        {"setup": "S1", "kind": "shot", "point": "place for the well", "rod": "4.5 ft"},
    ]
    edits = [*_roof(1, "20 ft x 20 ft"), _edit("survey.readings", readings)]
    look = _look(page, _begun(page), edits)["look"]
    assert look["fall_whole"].startswith("No fall")
    assert "0.50 ft higher" in look["fall"][0]


TAPE = {"along": "44 ft", "deep": "28'", "left": "18", "right": "18 ft", "front": "50 ft", "back": "47 ft"}


def test_places_from_a_tape(page: TestClient) -> None:
    """By hand: the house stands 18 ft from the left and 50 ft from the front line; 18 + 44 = 62, 50 + 28 = 78."""
    readings = [
        {"setup": "S1", "kind": "backsight", "point": "BM", "rod": "4 ft"},
        {"setup": "S1", "kind": "shot", "point": "D1", "rod": "5 ft"},
        {"setup": "S1", "kind": "shot", "point": "lot line below the well", "rod": "8 ft"},
    ]
    edits = [*_roof(1, "20 ft x 20 ft"), _edit("survey.readings", readings)]
    look = _look(
        page,
        _begun(page),
        edits,
        distances={**TAPE, "well_off": "26 ft", "well_along": "50 ft"},
        corners={"D1": "back right corner"},
        well_side="behind",
    )["look"]
    placed = {edit["path"]: edit["value"] for edit in look["edits"]}
    corners = [["18 ft", "50 ft"], ["62 ft", "50 ft"], ["62 ft", "78 ft"], ["18 ft", "78 ft"]]
    lot = [["0 ft", "0 ft"], ["80 ft", "0 ft"], ["80 ft", "125 ft"], ["0 ft", "125 ft"]]
    assert placed["buildings.H1.outline"] == corners
    assert placed["features.L1.outline"] == lot
    assert placed["downspouts.D1.at"] == placed["survey.readings[1].at"] == ["62 ft", "78 ft"]
    assert placed["wells.W1.at"] == ["50 ft", "104 ft"]
    assert placed["survey.readings[2].at"] == ["50 ft", "125 ft"]


@pytest.mark.parametrize(
    ("side", "off", "along", "at"),
    [
        ("behind", "26", "50", ["50 ft", "104 ft"]),
        ("before", "20", "50", ["50 ft", "30 ft"]),
        ("left of", "10", "60", ["8 ft", "60 ft"]),
        ("right of", "10", "60", ["72 ft", "60 ft"]),
    ],
)
def test_a_well_on_each_side(page: TestClient, side: str, off: str, along: str, at: list[str]) -> None:
    look = _look(
        page, _begun(page), distances={**TAPE, "well_off": off, "well_along": along}, well_side=side
    )["look"]
    assert {e["path"]: e["value"] for e in look["edits"]}["wells.W1.at"] == at


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("along", "long", "house along the street"),
        ("deep", "0 ft", "more than nothing"),
        ("left", "-3 ft", "not below zero"),
        ("well_off", "60 ft", "outside the lot"),
    ],
)
def test_a_distance_that_cannot_be_is_named_and_stops_nothing_else(
    page: TestClient, name: str, typed: str, words: str
) -> None:
    tape = {**TAPE, "well_off": "26 ft", "well_along": "50 ft", name: typed}
    look = _look(page, _begun(page), distances=tape, well_side="behind")["look"]
    (unread,) = look["unread"]
    assert unread["name"] == name
    assert words in unread["message"]
    assert "wells.W1.at" not in {edit["path"] for edit in look["edits"]}


@pytest.mark.parametrize(("when", "why"), [("in spring", "groundwater"), ("in dry weather", "leaking")])
def test_water_of_another_cause_stops_before_sizing(page: TestClient, when: str, why: str) -> None:
    stop = _look(page, _begun(page), [_edit("complaint.water_stands", when)])["look"]["stop"]
    assert why in stop["why"]
    assert stop["call"]
    assert (stop["check"], stop["may_go_on"]) == ("cause-of-water", True)


@pytest.mark.parametrize("when", ["during rain", "hours", "days"])
def test_water_that_comes_with_rain_goes_on(page: TestClient, when: str) -> None:
    assert _look(page, _begun(page), [_edit("complaint.water_stands", when)])["look"]["stop"] is None


def test_what_cannot_be_read_stays_named(page: TestClient) -> None:
    said = _look(page, _begun(page), [_edit("roofs.R1.plan_area", "46 x 15 ft")])
    (problem,) = said["problems"]
    assert problem["path"] == "roofs.R1.plan_area"
    assert "each side needs its own" in problem["message"]


def test_metric_counts_in_liters(page: TestClient) -> None:
    """10 mm on 100 m² are 1 m³, by the meaning of the units."""
    look = _look(page, _begun(page, "metric"), _roof(1, "12.5 m x 8 m"))["look"]
    assert look["rain_step"] == "10 mm of rain"
    assert look["whole_roof"]["volume"] in ("1,000 L", "1.00 m³", "1.0 m³")


def test_a_draft_says_the_range_and_what_to_measure(page: TestClient) -> None:
    job = _begun(page)
    readings = [
        {"setup": "S1", "kind": "backsight", "point": "BM", "rod": "4.2 ft"},
        {"setup": "S1", "kind": "shot", "point": "D1", "rod": "5 ft", "at": ["62 ft", "78 ft"]},
        {
            "setup": "S1",
            "kind": "shot",
            "point": "place for the well",
            "rod": "7.4 ft",
            "at": ["50 ft", "104 ft"],
        },
    ]
    edits = [
        RAIN,
        *_roof(1, "28 ft x 20 ft"),
        _edit("downspouts.D1.at", ["62 ft", "78 ft"]),
        _edit("wells.W1.at", ["50 ft", "104 ft"]),
        _edit("survey.readings", readings),
    ]
    said = page.post(f"/api/jobs/{job}/answers", json={"base": 1, "edits": edits, "page": "p"}).json()
    draft = said["draft"]
    assert "the soil decides" in draft["headline"]
    assert " to " in draft["digging"]
    first = draft["missing"][0]
    assert first["leaf"] == "soil.rate"
    assert first["words"].startswith("It decides between")
    held = {item["leaf"]: item["answers"] for item in draft["missing"]}
    for answer in said["answers"][:7]:
        open_leaves = {
            item["leaf"] for f in answer["findings"] if f["verdict"] == "unknown" for item in f["missing"]
        }
        assert open_leaves == {leaf for leaf, answers in held.items() if answer["question"] in answers}
