"""Every check can fail and can pass: the small house, and the small house with one thing wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import tables
from roofwell.checks import REGISTER
from roofwell.checks.finding import Finding
from roofwell.design.judging import Judged

Document = dict[str, Any]
Change = Callable[[Document], None]


def _set(path: str, value: Any) -> Change:
    """Change one leaf; ``a.b.c`` with tables made on the way, None takes it out."""

    def change(document: Document) -> None:
        *tables_on_the_way, last = path.split(".")
        at = document
        for name in tables_on_the_way:
            at = at.setdefault(name, {})
        if value is None:
            at.pop(last, None)
        else:
            at[last] = value

    return change


def _all(*changes: Change) -> Change:
    def change(document: Document) -> None:
        for one in changes:
            one(document)

    return change


def _drain(condition: str) -> Change:
    """An existing drain that takes the roof's water instead of the well."""
    return _all(
        _set("wells", None),
        _set("overflows", None),
        _set("features.E1", {
            "kind": "existing drain", "path": [["38 ft", "92 ft"], ["38 ft", "118 ft"]], "diameter": "4 in",
            "invert": "95 ft", "condition": condition, "state": "existing",
        }),
        _set("outlets.S1", {
            "kind": "storm sewer", "at": ["38 ft", "91 ft"], "invert": "95 ft", "destination": "drain E1",
        }),
    )  # fmt: skip


def _linked(nominal: str) -> Change:
    """A second well beside the first, a pipe between their bottoms."""
    return _set("wells.W2", {"at": ["22 ft", "104 ft"], "linked_to": "W1", "link_nominal": nominal})


def _drain_beside(invert: str) -> Change:
    """An existing drain that passes the well some feet away."""
    return _set("features.E2", {
        "kind": "existing drain", "path": [["46 ft", "80 ft"], ["46 ft", "118 ft"]], "diameter": "4 in",
        "invert": invert, "condition": "sound", "state": "existing",
    })  # fmt: skip


def _crossing(top: str) -> Change:
    """A water line right across the way from the basin to the well."""
    return _set("features.U2", {
        "kind": "utility", "utility": "water", "path": [["0 ft", "75 ft"], ["76 ft", "75 ft"]],
        "top": top, "diameter": "1 in", "marked_by": "locating service",
    })  # fmt: skip


def _filled(time: str) -> Change:
    """The dug hole itself, filled three times."""
    fills = [{"water_start": "4 ft", "time": time} for _ in range(3)]
    return _set("soil.fill_tests", [{"id": "F1", "well": "W1", "depth": "7 ft", "length": "20 ft", "width": "5 ft",
                                     "fills": fills}])  # fmt: skip


def _pumped(**answers: str) -> Change:
    """The well's overflow runs on to a pump, of which so much is answered."""
    place = {
        "kind": "pump",
        "at": ["38 ft", "112 ft"],
        "invert": "95.5 ft",
        "destination": "the street gutter",
    }
    return _all(_set("outlets.X1", place | answers), _set("overflows.O1.to", "X1"))


def _basin(inlet: str, outlet: str) -> Change:
    return _set("basins.B1", {
        "at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in",
        "inlet_height": inlet, "outlet_height": outlet,
    })  # fmt: skip


def _book(back: str) -> Change:
    """A level book of one set-up that looks at the benchmark twice."""
    return _set("survey.readings", [
        {"setup": "S1", "kind": "backsight", "point": "BM", "rod": "5.00 ft"},
        {"setup": "S1", "kind": "foresight", "point": "BM", "rod": back},
    ])  # fmt: skip


DRIVE = _set("features.V1", {
    "kind": "drive", "outline": [["0 ft", "68 ft"], ["76 ft", "68 ft"], ["76 ft", "79 ft"], ["0 ft", "79 ft"]],
})  # fmt: skip
THIN = _set("settings.pipe", "thin-wall")


def _valley(pitch: str, below: str) -> Change:
    """A valley that pours into the gutter from which D3 comes."""
    return _all(
        _set("gutters.G2.valleys", [{"at": "10 ft", "plan_area": "300 sq ft", "pitch": pitch}]),
        _set("gutters.G2.below_edge", below),
    )


HIGH = _set(
    "runs.P1", {"from": "D1", "to": "W1", "upstream_invert": "98.4 ft", "downstream_invert": "96.4 ft"}
)
HERE = _all(
    _set("place.latitude", 41.786), _set("place.longitude", -87.752)
)  # beside the shipped record's gauge
SLOW, FAST = "0.1 in/h", "20 in/h"
GROUND = _all(
    _set("soil.saturated_thickness", "10 ft"),
    _set("soil.specific_yield", "15 %"),
    _set("soil.horizontal_conductivity", "4 in/h"),
)
BASEMENT = _all(_set("buildings.H1.basement", True), _set("buildings.H1.lowest_floor", "91 ft"))


def _outline(id: str, kind: str, west: int, south: int, east: int, north: int) -> Change:
    """A feature on the ground with upright sides, in feet."""
    corners = [[west, south], [east, south], [east, north], [west, north]]

    def change(document: Document) -> None:
        document["features"][id] = {"kind": kind, "unit": "ft", "outline": corners}
        document["site"]["none"] = [other for other in document["site"]["none"] if other != kind]

    return change


def _shots_up_to_the_house(document: Document) -> None:
    """Nobody shot the back lawn."""
    points = document["survey"]["points"]
    document["survey"]["points"] = [p for p in points if p["id"] not in ("north-west", "north-east")]


PUDDLE = _all(
    _set(
        "complaint.puddle", [["34 ft", "88 ft"], ["42 ft", "88 ft"], ["42 ft", "96 ft"], ["34 ft", "96 ft"]]
    ),
    _set("complaint.puddle_depth", "1/2 in"),
)
AT_THE_LAWN = _all(_set("wells.W1.stone_top", "surface"), _set("overflows.O1.lip", None))


def _weeping() -> Change:
    return _all(_basin("17 in", "16 in"), _set("basins.B1.weep_holes", 4))


def _on_a_walk() -> Change:
    return _all(_basin("17 in", "16 in"), _outline("K1", "walk", 36, 80, 40, 84))


BESIDE = _all(_set("overflows.O1.kind", "pop-up emitter"), _set("overflows.O1.at", ["38 ft", "106 ft"]),
              _set("overflows.O1.lip", "97.4 ft"))  # fmt: skip


def _curb(height: str, allowed_by: str | None = "street office (invented)") -> Change:
    """The overflow led on by a pipe to an opening through a curb."""
    return _all(_set("overflows.O1.to", "E1"), _set("overflows.O1.lip", None), _set("outlets.E1", {
        "kind": "curb", "at": ["38 ft", "119 ft"], "invert": "96.2 ft", "destination": "the gutter of the street",
        "opening_width": "6 in", "opening_height": height,
        **({"allowed_by": allowed_by} if allowed_by else {}),
    }))  # fmt: skip


FAILS: dict[str, Change] = {
    "blocked-below-opening": _set("buildings.H1.lowest_opening", "97.8 ft"),
    "spill-below-opening": _all(
        _set("overflows.O1.at", ["38 ft", "70 ft"]), _set("buildings.H1.lowest_opening", "98.9 ft")
    ),
    "spill-to-septic": _outline("F1", "leach field", 30, 100, 46, 110),
    "spill-to-neighbor": _outline("N1", "neighbor's building", 34, 121, 46, 130),
    "spill-on-walk": _all(HERE, _outline("K1", "walk", 0, 105, 80, 108), _set("soil.frost_depth", "18 in"),
                          _set("roofs.R1.plan_area", "2400 sq ft"), _set("soil.rate", SLOW)),
    "bowl-runs-in": _all(PUDDLE, _set("overflows.O1.lip", "98.4 ft")),
    "all-roof-drained": _set("roofs.R3", {"plan_area": "100 sq ft"}),
    "pipe-slope": _set("runs.P1", {"from": "D1", "to": "W1", "slope": "0.2 %"}),
    "pipe-cover": HIGH,
    "crossing-clearance": _all(
        _crossing("96.5 ft"),
        _set("runs.P1", {"from": "D1", "to": "W1", "upstream_invert": "96.9 ft", "downstream_invert": "96.2 ft"}),
    ),
    "pipe-under-wheels": _all(DRIVE, THIN),
    "cover-under-wheels": _all(DRIVE, THIN, HIGH),
    "width-under-wheels": _all(DRIVE, _set("settings.trench_width", "8 in")),
    "levels-fit": HIGH,
    "path-clear": _set("runs.P1", {"from": "D1", "to": "W1", "path": [
        ["20.5 ft", "66.5 ft"], ["38 ft", "50 ft"], ["38 ft", "92 ft"],
    ]}),
    "trench-passes": _all(_set("downspouts.D3.at", ["26 ft", "39.5 ft"]), _set("buildings.H2.outline", [
        ["21 ft", "28 ft"], ["37 ft", "28 ft"], ["37 ft", "39.2 ft"], ["30 ft", "39.2 ft"], ["30 ft", "34 ft"],
        ["23 ft", "34 ft"], ["23 ft", "39.2 ft"], ["21 ft", "39.2 ft"],
    ])),
    "snake-reach": _set("runs.P1", {"from": "D1", "to": "W1", "fittings": [{"kind": "coupling", "station": "1 ft"}],
        "path": [["20.5 ft", "66.5 ft"], ["5 ft", "118 ft"], ["70 ft", "118 ft"], ["38 ft", "92 ft"]]}),
    "snake-bends": _set("runs.P1", {"from": "D1", "to": "W1", "fittings": [{"kind": "coupling", "station": "1 ft"}],
        "path": [["20.5 ft", "66.5 ft"], ["20.5 ft", "80 ft"], ["30 ft", "80 ft"], ["30 ft", "92 ft"], ["38 ft", "92 ft"]]}),
    "level-closure": _book("5.10 ft"),
    "gutter-capacity": _all(_set("gutters.G1.depth", "1/2 in"), _set("gutters.G1.top_width", "2 in"),
                            _set("gutters.G1.bottom_width", "1 in")),
    "gutter-brim": _set("gutters.G2.depth", "1 in"),
    "guard-in-cloudburst": _all(_set("gutters.G2.guard", True), _set("gutters.G2.guard_passes", "60 %")),
    "valley-overshoot": _valley("6 in 12", "8 in"),
    "outlet-capacity": _all(_set("downspouts.D3.width", "1 in"), _set("downspouts.D3.breadth", "1 in")),
    "downspout-capacity": _all(_set("downspouts.D3.width", "1 in"), _set("downspouts.D3.breadth", "1 in")),
    "pipe-capacity": _set("runs.P1", {"from": "D3", "to": "W1", "nominal": "2 in", "pipe": "schedule-40",
                                       "slope": "1 %"}),
    "pipe-velocity": _set("runs.P1", {"from": "D1", "to": "W1", "slope": "0.2 %"}),
    "water-below-grate": _set("overflows.O1.lip", "99.6 ft"),
    "water-below-opening": _set("buildings.H1.lowest_opening", "97.5 ft"),
    "water-in-storm": _all(_set("overflows.O1.lip", "99.6 ft"), _set("roofs.R1.plan_area", "2400 sq ft")),
    "full-well-drain": _drain_beside("96 ft"),
    "no-standing-water": _basin("16 in", "20 in"),
    "basin-before-well": _set("runs.P1", {"from": "D3", "to": "W1"}),
    "basin-capture": _all(_set("roofs.R1.plan_area", "60000 sq ft")),
    "basin-sump": _basin("5 in", "4 in"),
    "basin-ports": _all(_basin("16 in", "16 in"), _set("basins.B1.grate", "95.6 ft")),
    "floating-kept": _all(_basin("17 in", "16 in"), _set("basins.B1.hood", False)),
    "basin-emptying": _all(
        _basin("5 in", "4 in"), _set("roofs.R1.trees", "many"), _set("basins.B1.hood", True),
        _set("basins.B1.hood_air_hole", True), _set("basins.B1.emptied", "1 a year"),
    ),
    "weep-drain": _all(_weeping(), _set("soil.rate", "0.05 in/h")),
    "mosquito-water": _all(_basin("17 in", "16 in"), _set("basins.B1.mosquito_screen", False)),
    "ice-in-water": _set("soil.frost_depth", "8 ft"),
    "gutter-cleaning": _set("gutters.G1.cleaned", "1 a year"),
    "observation-pipe": _set("wells.W1.observation_pipe", False),
    "lid-held": _all(
        _basin("17 in", "16 in"), _set("basins.B1.lid_held", False), _set("basins.B1.lid_weight", "20 lb")
    ),
    "grate-opening": _all(_on_a_walk(), _set("basins.B1.grate_opening", "1 in")),
    "body-holes": _set("wells.W1.hole_area", "0.1 sq in"),
    "stone-against-soil": _all(_set("wells.W1.geotextile", []), _set("soil.texture", "loam")),
    "stone-voids": _set("wells.W1.voids", "60 %"),
    "fabric-opening": _set("wells.W1.geotextile_opening", "0.6 mm"),
    "fabric-permittivity": _set("wells.W1.geotextile_permittivity", "0.05 per s"),
    "fabric-flow": _set("wells.W1.geotextile_permittivity", "0.00001 per s"),
    "fabric-fine-soil": _set("soil.passing_no_200", "90 %"),
    "fabric-class": _set("wells.W1.geotextile_class", 3),
    "top-stone": _all(AT_THE_LAWN, _set("wells.W1.top_stone", "0 in")),
    "stone-over-hole": _all(_set("wells.W1.stone", "8"), _set("wells.W1.hole_diameter", "1 in")),
    "link-flow": _linked("2 in"),
    "storm-held": _set("roofs.R1.plan_area", "2400 sq ft"),
    "well-drain-down": _set("soil.rate", SLOW),
    "well-in-years": _all(_set("targets.years", "5 yr"), _set("soil.rate", SLOW)),
    "soil-fast-enough": _set("soil.rate", SLOW),
    "soil-slow-enough": _set("soil.rate", FAST),
    "fill-test": _filled("30 h"),
    "pit-above-refusal": _set("soil.refusal_depth", "4 ft"),
    "lawn-clear": _all(_set("targets.lawn_clear", "1 min"), _set("roofs.R1.plan_area", "2400 sq ft")),
    "overflow-capacity": _set("overflows.O1.diameter", "1 in"),
    "order-of-heights": _set("overflows.O1.lip", "99.6 ft"),
    "exit-speed": _set("overflows.O1.lip", "98.9 ft"),
    "lip-under-mower": _set("overflows.O1.lip", "98.4 ft"),
    "elbow-drains": _all(BESIDE, _set("overflows.O1.low_point", "95.5 ft")),
    "spreader-length": _all(_set("overflows.O1.kind", "level spreader"), _set("overflows.O1.length", "3 in")),
    "curb-opening": _curb("1 in"),
    "overflow-over-inlet": _set("overflows.O1.lip", "90 ft"),
    "overflow-below-opening": _set("buildings.H1.lowest_opening", "97.5 ft"),
    "overflow-to-lot-line": _set("overflows.O1.at", ["38 ft", "118 ft"]),
    "overflow-to-building": _set("overflows.O1.at", ["38 ft", "70 ft"]),
    "setback": _set("wells.W1.at", ["38 ft", "75 ft"]),
    "separation": _set("soil.seasonal_high_water", "91 ft"),
    "mound-below-well": _all(GROUND, _set("soil.seasonal_high_water", "90.9 ft")),
    "mound-at-wall": _all(GROUND, BASEMENT, _set("soil.seasonal_high_water", "90.9 ft")),
    "uplift": _set("soil.seasonal_high_water", "96.5 ft"),
    "utilities-located": _set("utilities.located", False),
    "deepest-pit": _set("wells.W1.bottom", "86 ft"),
    "drain-sound": _drain("broken"),
    "within-budget": _set("targets.budget", "$10"),
    "spills-a-year": _all(HERE, _set("targets.spills", "0.1 a year"), _set("roofs.R1.plan_area", "2400 sq ft")),
}  # fmt: skip
UNKNOWN: dict[str, tuple[Change, str]] = {
    "lawn-inlet": (_set("wells.W1.stone_top", "lawn inlet"), "lawn.catchment"),
    "cause-of-water": (_set("complaint.water_stands", "in dry weather"), "complaint.dry_weather"),
    "full-well-drain": (
        _all(_drain_beside("96 ft"), _set("features.E2.invert", None)),
        "features.drain_invert",
    ),
    "rain-of-this-place": (_set("rain.depths", None), "rain.place"),
    "overflow-destination": (_set("overflows.O1.destination", None), "overflow.destination"),
    "outlet-allowed": (_curb("3 in", allowed_by=None), "outlets.allowed_by"),
    "overflow-path": (_shots_up_to_the_house, "survey.overflow_path"),
    "pump-answered": (_pumped(), "outlets.power"),
}
PASSES_WITH: dict[str, Change] = {
    "cause-of-water": _set("complaint.water_stands", "in spring"),
    "pump-answered": _pumped(
        power="own circuit, battery for 6 h", freeze_protection="pit below frost", allowed_by="street office"
    ),
    "stone-against-soil": _all(
        _set("wells.W1.geotextile", []), _set("soil.grain_d85", "1.9 mm"), _set("soil.grain_d50", "0.9 mm")
    ),
    "stone-voids": _set("wells.W1.voids", "40 %"),
    "top-stone": AT_THE_LAWN,
    "spill-to-septic": _outline("F1", "leach field", 2, 2, 10, 10),
    "spill-to-neighbor": _outline("N1", "neighbor's building", 100, 40, 120, 60),
    "bowl-runs-in": PUDDLE,
    "weep-drain": _weeping(),
    "grate-opening": _on_a_walk(),
    "guard-in-cloudburst": _all(_set("gutters.G2.guard", True), _set("gutters.G2.guard_passes", "100 %")),
    "valley-overshoot": _valley("3 in 12", "1/4 in"),
    "crossing-clearance": _crossing("92 ft"),
    "pipe-under-wheels": DRIVE,
    "width-under-wheels": DRIVE,
    "cover-under-wheels": _all(DRIVE, THIN, _set("settings.cover_drive", "25 in")),
    "level-closure": _book("5.00 ft"),
    "fill-test": _filled("1 h"),
    "pit-above-refusal": _set("soil.refusal_depth", "20 ft"),
    "lawn-clear": _set("targets.lawn_clear", "24 h"),
    "well-in-years": _set("targets.years", "1 yr"),
    "drain-sound": _drain("sound"),
    "mound-at-wall": BASEMENT,
    "full-well-drain": _drain_beside("98 ft"),
    "elbow-drains": BESIDE,
    "spreader-length": _set("overflows.O1.kind", "level spreader"),
    "curb-opening": _curb("4 in"),
    "outlet-allowed": _curb("4 in"),
    "link-flow": _linked("8 in"),
    "within-budget": _set("targets.budget", "$100,000"),
    "spills-a-year": _all(HERE, _set("targets.spills", "50 a year")),
}


def _findings(judged: Judged, code: str) -> list[Finding]:
    return [finding for finding in judged.findings if finding.code == code]


@pytest.fixture(scope="module")
def plain(judged_of: Callable[..., Judged], data_folder: Path) -> Judged:
    return judged_of(tomllib.loads((data_folder / "small-house.toml").read_text(encoding="utf-8")))


def test_every_check_is_tried() -> None:
    assert set(FAILS) | set(UNKNOWN) == set(REGISTER)


@pytest.mark.parametrize("code", [*FAILS])
def test_it_fails(code: str, house: Document, judged_of: Callable[..., Judged]) -> None:
    FAILS[code](house)
    found = _findings(judged_of(house, record=code in ("spills-a-year", "spill-on-walk")), code)
    assert "fails" in {finding.verdict for finding in found}
    for finding in found:
        if finding.verdict == "fails":
            assert finding.spare < 0 or finding.spare != finding.spare
            assert finding.sentence


@pytest.mark.parametrize("code", [*UNKNOWN])
def test_it_is_unknown_and_names_the_measurement(
    code: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    change, leaf = UNKNOWN[code]
    change(house)
    found = _findings(judged_of(house), code)
    assert {finding.verdict for finding in found} == {"unknown"}
    assert leaf in {m.leaf for finding in found for m in finding.missing}


@pytest.mark.parametrize("code", sorted(set(REGISTER) - {"no-standing-water", "trench-passes", "lawn-inlet"}))
def test_it_passes(code: str, house: Document, plain: Judged, judged_of: Callable[..., Judged]) -> None:
    judged = plain
    if code in PASSES_WITH:
        PASSES_WITH[code](house)
        judged = judged_of(house, record=code in ("spills-a-year", "spill-on-walk"))
    found = _findings(judged, code)
    assert found
    assert {finding.verdict for finding in found} <= {"good", "close"}


def test_no_standing_water_is_silent_where_none_stands(plain: Judged) -> None:
    assert _findings(plain, "no-standing-water") == []


def test_a_trench_that_passes_is_no_finding(plain: Judged) -> None:
    assert _findings(plain, "trench-passes") == []


@pytest.mark.parametrize("when", ["during rain", "hours", "days"])
def test_water_that_comes_with_rain_needs_no_other_cause(
    when: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    house.setdefault("complaint", {})["water_stands"] = when
    assert _findings(judged_of(house), "cause-of-water") == []


def test_groundwater_that_nobody_measured_is_unknown_and_a_reason_sets_it_aside(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house.setdefault("complaint", {})["water_stands"] = "in spring"
    for leaf in ("seasonal_high_water", "seasonal_high_water_depth"):
        house["soil"].pop(leaf, None)
    (found,) = _findings(judged_of(house), "cause-of-water")
    assert (found.verdict, [m.leaf for m in found.missing]) == ("unknown", ["soil.seasonal_high_water"])
    house["overrules"] = [
        {
            "check": "cause-of-water",
            "reason": "a hole stood dry all March",
            "who": "Ada",
            "date": "2026-04-01",
        }
    ]
    (found,) = _findings(judged_of(house), "cause-of-water")
    assert found.overruled is not None


def test_stone_at_the_lawn_is_no_lawn_inlet_by_itself(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """As the way out of a full well it is judged; only where it is meant to take lawn water is it unknown."""
    house["wells"]["W1"]["stone_top"] = "surface"
    judged = judged_of(house)
    assert _findings(judged, "lawn-inlet") == []
    assert {f.verdict for f in _findings(judged, "overflow-capacity")} == {"good"}


def test_every_source_of_a_finding_is_listed(
    plain: Judged, house: Document, judged_of: Callable[..., Judged]
) -> None:
    for name in ("place", "soil", "features", "site"):
        house.pop(name)
    for judged in (plain, judged_of(house)):
        for finding in judged.findings:
            assert finding.source in tables.sources(), finding.code


def test_a_limit_of_the_rule_file_is_said_to_be_of_the_rule_file(
    plain: Judged, house: Document, judged_of: Callable[..., Judged]
) -> None:
    codes = ("pipe-slope", "pipe-cover", "overflow-below-opening", "water-below-opening", "separation")
    for code in codes:
        assert {f.source for f in _findings(plain, code)} == {"rule-file"}, code
    house.pop("place")
    judged = judged_of(house)
    for code in codes[:-1]:
        assert "rule-file" not in {f.source for f in _findings(judged, code)}, code
    assert {f.source for f in _findings(judged, "separation")} == {"separation-published"}


@pytest.mark.parametrize("code", ["overflow-below-opening", "water-below-opening"])
def test_water_below_opening(code: str, house: Document, judged_of: Callable[..., Judged]) -> None:
    """Freeboard 6 in of the rule file: met at 6 in, close up to a tenth of its scale more, else good."""
    judged = judged_of(house)
    level = _findings(judged, code)[0]
    at = 99.8 * 0.3048 - level.value  # the water, m
    for over_in, verdict in ((5.99, "fails"), (6.3, "close"), (7.0, "good")):
        house["buildings"]["H1"]["lowest_opening"] = f"{at / 0.3048 + over_in / 12:.9f} ft"
        assert [f.verdict for f in _findings(judged_of(house), code)] == [verdict]
    house["buildings"]["H1"].pop("lowest_opening")
    found = _findings(judged_of(house), code)
    assert [f.verdict for f in found] == ["unknown"]
    assert "buildings.lowest_opening" in {m.leaf for m in found[0].missing}


@pytest.mark.parametrize(
    ("rule", "code"),
    [
        ("tree", "setback"), ("lot_line", "setback"), ("separation", "separation"),
        ("deepest_pit", "deepest-pit"), ("least_rate", "soil-fast-enough"), ("most_rate", "soil-slow-enough"),
        ("to_lot_line", "overflow-to-lot-line"), ("to_building", "overflow-to-building"),
    ],
)  # fmt: skip
def test_a_rule_that_must_be_asked_for_is_unknown(
    rule: str, code: str, house: Document, judged_of: Callable[..., Judged], rules_with: Callable[..., Path]
) -> None:
    judged = judged_of(house, rules_with(**{rule: "ask the office"}))
    found = [
        f for f in _findings(judged, code) if code != "setback" or f.subject.endswith(rule.replace("_", " "))
    ]
    assert [f.verdict for f in found] == ["unknown"]
    assert "ask the office" in found[0].limit_text
    assert "place.rules" in {m.leaf for m in found[0].missing}


def test_a_septic_tank_without_its_leach_field_is_not_the_whole_story(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["site"]["none"] = [
        kind for kind in house["site"]["none"] if kind not in ("septic tank", "leach field")
    ]
    house["features"]["T2"] = {"kind": "septic tank", "at": ["10 ft", "10 ft"]}
    found = {f.subject: f.verdict for f in _findings(judged_of(house), "setback")}
    assert found["W1 to septic tank"] == "good"
    assert found["W1 to leach field"] == "unknown"
    house["site"]["none"].append("leach field")
    assert "W1 to leach field" not in {f.subject for f in _findings(judged_of(house), "setback")}


@pytest.mark.parametrize(
    ("floor", "words"), [("100 ft", "lies"), ("92 ft", "every pipe joint near that wall must be tight")]
)
def test_the_water_is_told_against_the_lowest_floor(
    floor: str, words: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A floor of 100 ft stands over water that may not come above 99.8 ft; one of 92 ft lies under it."""
    _set("buildings.H1.lowest_floor", floor)(house)
    _set("buildings.H1.lowest_opening", "100.5 ft")(house)
    (found,) = _findings(judged_of(house), "water-below-opening")
    assert words in found.sentence
    assert "lowest floor of H1" in found.sentence


@pytest.mark.parametrize(
    ("code", "leaf", "higher", "lower"),
    [
        ("deepest-pit", "wells.W1.bottom", "91 ft", "90 ft"),
        ("mound-below-well", "soil.seasonal_high_water", "84 ft", "83 ft"),
    ],
)
def test_a_foot_deeper_is_a_foot_more(
    code: str, leaf: str, higher: str, lower: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A pit dug, or groundwater that stands, 1 ft deeper: the depth, or the room over the mound, grows by 0.3048 m.

    By hand; ground, bottom and mound stay.
    """
    GROUND(house)
    values = []
    for elevation in (higher, lower):
        _set(leaf, elevation)(house)
        values.append(_findings(judged_of(house), code)[0].value)
    assert values[1] - values[0] == pytest.approx(0.3048, abs=1e-6)
