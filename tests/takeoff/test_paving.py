"""Walks and drives that trenches pass: what is bored and cut, by hand sums; and what the user's own prices do to a path."""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import shapely

from roofwell import tables as data
from roofwell.design import Design
from roofwell.design.judging import Inputs, Judged, design_rate_m_s, judge
from roofwell.job.prices import PriceBook, shipped_prices
from roofwell.papers.order import order_csv
from roofwell.papers.results import results
from roofwell.system.choice import BodyChoice, Choice, WellChoice
from roofwell.system.route_weights import cheapest, table_weights
from roofwell.system.scheme import PavedCrossing, Scheme
from roofwell.system.survey import survey as make_survey
from roofwell.takeoff import take_off
from roofwell.takeoff.route_prices import route_weights

Document = dict[str, Any]
FT, IN = 0.3048, 0.0254
KEYS = ("bore:walk", "bore:drive", "cut:walk", "cut:drive")


def _passing(hand: Any, *crossings: PavedCrossing) -> Scheme:
    return replace(hand.house(), paved=crossings)


def _walk(way: str, *, length_ft: float = 4.0, origin: Any = "designed", kind: str = "walk") -> PavedCrossing:
    return PavedCrossing("K2", kind, "P4", 12 * FT, length_ft * FT, way, origin)


def _lines(hand: Any, scheme: Scheme, **more: Any) -> dict[str, Any]:
    out = take_off(scheme, hand.survey(trench_width=18 * IN), shipped_prices(), **more)
    return {item.key if item.key != "labor" else item.what: item for item in out.items}


def test_a_bored_walk_by_hand(hand: Any) -> None:
    """P4 passes 4 ft of walk at 0+12. Bored: 4 ft, 1 hour to set up, 4 ft at 2 m (6.56 ft) an hour is 0.61, told 0.7.

    The trench is 4 ft shorter: the lawn of 4 ft x 18 in = 6 sq ft = 0.667 sq yd is not opened.
    """
    plain, bored = _lines(hand, hand.house()), _lines(hand, _passing(hand, _walk("bored")))
    assert (bored["bore:walk"].quantity, bored["bore:walk"].unit) == (4.0, "ft")
    assert bored["bore:walk"].where == "P4 at 0+12 (K2)"
    assert bored["bore:walk"].amount == pytest.approx(4 * 3.80)
    hours = {what: item.quantity for what, item in bored.items() if item.group == "hours"}
    assert hours["set up to bore: a pit at each side, the pipe lined up"] == 1.0
    assert hours["bore under paving with pipe and water"] == pytest.approx(0.7)
    assert "cut:walk" not in bored
    lost = plain["lawn"].note, bored["lawn"].note
    areas = [sum(float(word) for word in note.split() if word.replace(".", "").isdigit()) for note in lost]
    assert areas[0] - areas[1] == pytest.approx(6 / 9, abs=0.06)
    assert bored["dig-trench"].quantity < plain["dig-trench"].quantity


def test_a_cut_walk_by_hand(hand: Any) -> None:
    """4 ft x 18 in = 6 sq ft = 0.667 sq yd, sold by the half: 1.0 at 58. 0.557 m² at 3 and at 1 an hour: 0.2 and 0.6.

    The trench is dug as before; the walk's part of its top is no lawn.
    """
    plain, cut = _lines(hand, hand.house()), _lines(hand, _passing(hand, _walk("cut")))
    assert (cut["cut:walk"].quantity, cut["cut:walk"].unit, cut["cut:walk"].amount) == (1.0, "sq yd", 58.0)
    assert cut["cut:walk"].note == "K2 4.0 ft x 18 in"
    assert cut["saw paving and lift it"].quantity == pytest.approx(0.2)
    assert cut["relay or patch paving"].quantity == pytest.approx(0.6)
    assert cut["dig-trench"].quantity == plain["dig-trench"].quantity
    assert cut["lawn"].quantity <= plain["lawn"].quantity


def test_a_way_that_nobody_named_is_said(hand: Any) -> None:
    given = _lines(hand, _passing(hand, _walk("cut", origin="assumed")))
    assert given["cut:walk"].note.endswith("nobody said how: what costs less is counted")


def test_what_stands_is_neither_bored_nor_cut(hand: Any) -> None:
    lines = _lines(hand, _passing(hand, _walk("bored")), existing=("P4",))
    assert not set(KEYS) & set(lines)


def test_shipped_prices_have_every_way_in_every_unit() -> None:
    book = shipped_prices()
    for key in KEYS:
        units = ("ft", "m") if key.startswith("bore") else ("sq yd", "m²")
        assert all(book.price(key, unit) for unit in units), key


def test_a_wide_walk_is_not_bored_farther_than_a_hose_reaches() -> None:
    """10 ft is the farthest; a run that turns inside is cut too (both common practice, no source)."""
    ways = table_weights().walk
    assert cheapest(ways, 4 * FT, turns_inside=False).name == "bored"  # 8 + 2 x 4 = 16 against 4 + 5 x 4 = 24
    assert cheapest(ways, 1 * FT, turns_inside=False).name == "cut"  # 10 against 9
    assert cheapest(ways, 10.5 * FT, turns_inside=False).name == "cut"
    assert cheapest(ways, 4 * FT, turns_inside=True).name == "cut"


def _with_walk(house: Document, east_ft: float = 50.0) -> Document:
    """A walk 4 ft wide behind the house, from the lot line to ``east_ft``; the well lies beyond it."""
    house["features"]["K1"] = {
        "kind": "walk", "unit": "ft", "outline": [[0, 73.8], [east_ft, 73.8], [east_ft, 77.8], [0, 77.8]],
    }  # fmt: skip
    return house


def test_a_given_path_across_a_walk_is_counted(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Square across 4 ft of walk at 73.8 ft, from 66.5 ft: 7.3 ft from the run's upper end."""
    _with_walk(house)
    house["runs"] = {
        "P9": {
            "from": "D1",
            "to": "W1",
            "path": [["20.5 ft", "66.5 ft"], ["20.5 ft", "92 ft"], ["38 ft", "92 ft"]],
        }
    }
    judged = judged_of(house)
    crossing = next(item for item in judged.scheme.paved if item.run == "P9")
    assert (crossing.id, crossing.kind, crossing.origin) == ("K1", "walk", "assumed")
    assert crossing.way == "bored"  # 8 + 2 x 4 ft against 4 + 5 x 4 ft
    assert crossing.station_m == pytest.approx(7.3 * FT)
    assert crossing.length_m == pytest.approx(4 * FT)
    line = next(item for item in judged.takeoff.items if item.key == "bore:walk")
    assert "P9 at 0+07 (K1)" in line.where
    assert "nobody said how" in line.note


def test_an_existing_run_passes_its_walk_already(house: Document, judged_of: Callable[..., Judged]) -> None:
    _with_walk(house)
    path = [["20.5 ft", "66.5 ft"], ["20.5 ft", "92 ft"], ["38 ft", "92 ft"]]
    house["runs"] = {"P9": {"from": "D1", "to": "W1", "path": path, "state": "existing"}}
    assert "P9" not in {item.run for item in judged_of(house).scheme.paved}


def test_papers_and_results_carry_it(house: Document, design_of: Callable[..., Design]) -> None:
    made = design_of(_with_walk(house, 80.0))
    paved = results(made)["scheme"]["paved"]
    assert paved and {"id", "kind", "run", "station_m", "length_m", "way", "origin"} <= set(paved[0])
    assert {item["origin"] for item in paved} == {"designed"}
    assert "bore:walk" in order_csv(made).decode("utf-8-sig")
    answer = next(a for a in made.answers if a.question == 8)
    assert "K1" in answer.sentence


def _own_book(**changed: dict[str, float]) -> PriceBook:
    """The shipped prices as if they were a firm's own, with some items changed."""
    book = shipped_prices()
    items = dict(book.items)
    for key, prices in changed.items():
        item = items[key.replace("__", ":")]
        items[key.replace("__", ":")] = type(item).model_validate(
            {unit: f"${p}" for unit, p in prices.items()}
        )
    return book.model_copy(update={"invented": False, "name": "own (invented for a test)", "items": items})


def _judged(house: Document, read_job: Callable[..., Any], data_folder: Any, book: PriceBook) -> Judged:
    job = read_job(house, data_folder)
    survey = make_survey(job, folder=data_folder)
    inputs = Inputs(job, survey, book, (None, None), (), route_weights(book, job, survey))
    body = BodyChoice("test", 24 * IN, 60 * IN, 0.5 * IN)
    choice = Choice({"W1": WellChoice(body, 4, 18 * IN)}, route=inputs.route)
    return judge(inputs, choice, rate_m_s=design_rate_m_s(survey, survey.soil.best_m_s), whole=False)


def test_dear_boring_and_cutting_send_the_trench_round_the_walk(
    house: Document, read_job: Callable[..., Any], data_folder: Any
) -> None:
    """The walk ends at 50 ft. At the shipped prices it is passed under; at 400 a foot and 9,000 a square yard it is not."""
    _with_walk(house)
    cheap = _judged(house, read_job, data_folder, _own_book())
    dear = _judged(
        house, read_job, data_folder,
        _own_book(bore__walk={"ft": 400.0}, cut__walk={"sq yd": 9000.0}),
    )  # fmt: skip
    walk = shapely.box(0, 73.8 * FT, 50 * FT, 77.8 * FT)

    def across(judged: Judged) -> float:
        return math.fsum(shapely.LineString(run.path).intersection(walk).length for run in judged.scheme.runs)

    assert across(cheap) >= 4 * FT - 0.01
    assert across(dear) < 0.01
    assert dear.scheme.paved == ()
    assert {route.weighed_by for route in dear.scheme.routes} == {"price book"}
    assert sum(r.length_m for r in dear.scheme.runs) > sum(r.length_m for r in cheap.scheme.runs)


def test_invented_prices_and_a_book_with_gaps_steer_nothing(
    house: Document, read_job: Callable[..., Any], data_folder: Any
) -> None:
    job = read_job(house, data_folder)
    survey = make_survey(job, folder=data_folder)
    assert route_weights(None, job, survey) is None
    assert route_weights(shipped_prices(), job, survey) is None
    own = _own_book()
    for key in ("labor", "excavator", "lawn", "pipe:sdr-35:4in"):
        without = own.model_copy(update={"items": {k: v for k, v in own.items.items() if k != key}})
        assert route_weights(without, job, survey) is None, key
    kept = route_weights(
        own.model_copy(update={"items": {k: v for k, v in own.items.items() if k != "bore:walk"}}),
        job,
        survey,
    )
    assert kept is not None
    assert kept.walk[0] == table_weights().walk[0]
    assert kept.walk[1] != table_weights().walk[1]


def test_weights_of_a_book_by_hand(house: Document, read_job: Callable[..., Any], data_folder: Any) -> None:
    """One elbow of 4 in over a meter of trench, both reckoned by hand from prices that are round.

    Labor 60 an hour, machine 240 a day = 30 an hour, and nothing else costs. Pipe 4.215 in outside in a trench 16 in
    wider, 20.215 in = 0.51346 m; 12 in over it and 3 in under it, 19.215 in = 0.48806 m deep: 0.25060 m³ a meter.
    Digging at 1.2 m³ an hour: 0.20883 h x 90 = 18.79. Out of it: 0.51346 x 0.0762 + pi/4 x 0.10706² = 0.04813 m³;
    back 0.20247 m³ at 1.5 an hour x 60 = 8.099. Laying at 6 m an hour: 10. Haul: 0.04813 x (1 + swell) at 3.23 m³
    an hour x 60. An elbow for 0 takes a sixth of an hour: 10.
    """
    house["settings"] = {"cover_lawn": "12 in", "swell": "20 %", "pipe": "sdr-35"}
    job = read_job(house, data_folder)
    survey = make_survey(job, folder=data_folder)
    free = {key: dict.fromkeys(_units(item), 0.0) for key, item in shipped_prices().items.items()}
    changed = {key.replace(":", "__"): prices for key, prices in free.items()}
    changed |= {"labor": {"h": 60.0}, "excavator": {"day": 240.0}}
    weights = route_weights(_own_book(**changed), job, survey)
    assert weights is not None
    by_depth = 0.20883 * 90 + 0.20247 / 1.5 * 60
    once = 10 + 0.04813 * 1.2 / 3.23 * 60
    assert weights.turns.elbow == pytest.approx(10 / (by_depth + once), rel=1e-3)
    assert weights.deep_share == pytest.approx(by_depth / (by_depth + once), rel=1e-3)
    assert weights.walk[0].start == pytest.approx(60 / (by_depth + once), rel=1e-3)
    assert weights.walk[1].per_m == pytest.approx(0.51346 * (20 + 60) / (by_depth + once), rel=1e-3)


def _units(item: Any) -> list[str]:
    fields = type(item).model_fields
    return [
        field.alias or name
        for name, field in fields.items()
        if name != "what" and item.price(field.alias or name) is not None
    ]


def test_a_price_book_beside_the_job_steers_its_route(
    house: Document, design_of: Callable[..., Design], tmp_path: Path, data_folder: Path
) -> None:
    """From the file that the document names to the path: 900 a foot to bore and 9,000 a square yard to cut go round."""
    shutil.copy(data_folder / "small-house-rules.toml", tmp_path)
    text = (resources.files(data) / "prices" / "invented.toml").read_text(encoding="utf-8")
    text = text.replace("invented = true", "").replace(
        '"bore:walk" = { ft = 3.80', '"bore:walk" = { ft = 900.00'
    )
    text = text.replace('"cut:walk" = { "sq yd" = 58.00', '"cut:walk" = { "sq yd" = 9000.00')
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    _with_walk(house)
    by_length = design_of(house)
    by_price = design_of({**house, "prices": {"file": "own.toml"}}, tmp_path)
    assert {item.id for item in by_length.scheme.paved} == {"K1"}
    assert by_price.scheme.paved == ()
    assert {route.weighed_by for route in by_price.scheme.routes} == {"price book"}
    answer = next(a for a in by_price.answers if a.question == 8)
    assert "weighed by price book" in answer.detail
