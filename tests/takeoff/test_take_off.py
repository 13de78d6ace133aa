"""Quantities of a whole job: soil, prices, what stands already, both systems of units."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job.prices import shipped_prices
from roofwell.takeoff import take_off
from roofwell.takeoff.ends import fitting_kinds
from roofwell.takeoff.pipes import length_m
from roofwell.takeoff.stone import (
    dry_density_kg_m3,
    porosity_of_void_ratio,
    stone_named,
)
from roofwell.takeoff.trade import size_key, station, up

FOOT = 0.3048
YARD3 = (3 * FOOT) ** 3


class Book:
    """A price book in which everything costs the same."""

    dated, currency, invented = date(2026, 1, 2), "USD", True

    def __init__(self, each: float, name: str = "made up", without: str = "") -> None:
        self.each, self.name, self.without = each, name, without

    def price(self, key: str, per: str) -> float | None:
        return None if key == self.without else self.each


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    deep=st.floats(3.0, 9.0),
    stone=st.floats(1.0, 3.0),
    pit=st.tuples(st.floats(3.0, 12.0), st.floats(3.0, 12.0)),
    shape=st.sampled_from(["round", "rectangular"]),
    swell=st.floats(0.0, 0.65),
)
def test_soil_is_neither_made_nor_lost(hand, deep, stone, pit, shape, swell) -> None:
    """Bank volume: dug = put back + hauled; what is hauled is what stone, pipe, bodies and basins take up."""
    pit = (pit[0], pit[0]) if shape == "round" else pit
    well = hand.well("W1", (70, 0), bottom_ft=97.95 - deep, stone_ft=stone, pit_ft=pit, pit_shape=shape)
    out = take_off(replace(hand.house(), wells=(well,)), hand.survey(swell=swell), None)
    assert out.excavation_m3 == pytest.approx(out.backfill_m3 + out.haul_m3, rel=1e-12)
    assert out.spoil_m3 == pytest.approx(out.excavation_m3 * (1 + swell), rel=1e-12)
    assert 0 < out.backfill_m3 < out.excavation_m3
    assert out.haul_m3 > out.stone_m3


def test_prices_change_amounts_only(hand) -> None:
    """Two price books: the same items but for price and amount; the total follows."""
    cheap = take_off(hand.house(), hand.survey(), Book(1.0))
    dear = take_off(hand.house(), hand.survey(), Book(3.0))

    def bare(out):
        return [replace(item, price_each=None, amount=None) for item in out.items]

    assert bare(cheap) == bare(dear) == bare(take_off(hand.house(), hand.survey(), None))
    assert cheap.price == pytest.approx(
        sum(i.quantity for i in cheap.items if i.priced), abs=0.01 * len(cheap.items)
    )
    assert dear.price == pytest.approx(3 * cheap.price, abs=0.02 * len(cheap.items))
    same = {"price", "items"}
    for name in type(cheap).__slots__:
        assert name in same or getattr(cheap, name) == getattr(dear, name), name


def test_one_missing_price_leaves_the_total_open(hand) -> None:
    out = take_off(hand.house(), hand.survey(), Book(2.0, without="geotextile"))
    assert out.price is None and out.unpriced == ("geotextile",)
    assert take_off(hand.house(), hand.survey(), None).price is None


def test_a_unit_that_the_book_lacks_is_no_price(hand) -> None:
    """A price per ton is not turned into a price per anything else: a metric order takes the metric price."""
    book = shipped_prices()
    for style, per in (("us", "ton"), ("metric", "t")):
        stone = next(i for i in take_off(hand.house(), hand.survey(style), book).items if i.key == "stone:57")
        assert stone.unit == per and stone.price_each == book.price("stone:57", per)


def test_the_shipped_book_says_that_it_is_invented(hand) -> None:
    out = take_off(hand.house(), hand.survey(), shipped_prices())
    assert out.prices_invented and out.currency == "USD" and "2026" in out.price_book


def test_what_stands_already_is_neither_bought_nor_dug(hand) -> None:
    house = hand.house()
    whole = take_off(house, hand.survey(), None)
    rest = take_off(house, hand.survey(), None, existing={"B1", "P1", "P2", "P3"})
    assert not [i for i in rest.items if i.group == "basin"]
    assert {cut.run for cut in rest.cuts} == {"P4", "W1", "O1"}
    assert rest.excavation_m3 < whole.excavation_m3
    everything = {p.id for group in (house.basins, house.wells, house.overflows, house.runs) for p in group}
    assert take_off(house, hand.survey(), None, existing=everything).items == ()


def test_metric_orders_are_metric(hand) -> None:
    """Dug by the same widths and beds the words alone are metric; stubs and sticks, no settings, stay out of these."""
    out = take_off(hand.house(), hand.survey("metric", **hand.survey().settings), None)
    units = {i.unit for i in out.items}
    assert units <= {"stick", "each", "t", "m²", "m³", "h", "day"}
    assert any("P1 at 0.00 m" in i.where for i in out.items)
    us = take_off(hand.house(), hand.survey(), None)
    assert (out.stone_m3, out.excavation_m3, out.hours) == (us.stone_m3, us.excavation_m3, us.hours)


def test_every_line_says_where(hand) -> None:
    for item in take_off(hand.house(), hand.survey(), None).items:
        assert item.where and item.quantity > 0, item


def test_hand_take_off_of_the_example_house(hand) -> None:
    """By a pencil: pit 10 x 6 x 5 ft, stone 240 cu ft less a body (12.57), basin pit 3 ft round."""
    out = take_off(hand.house(), hand.survey(waste=0.0), None)
    stone = next(i for i in out.items if i.key == "stone:57")
    assert stone.quantity == 11.5  # 227.4 cu ft = 8.42 cu yd = 11.37 ton
    pits = next(i for i in out.items if i.key == "dig-pit")
    assert pits.quantity == pytest.approx((300 + 7.069 * 3.333) / 27, abs=0.1)  # 11.98 cu yd
    body = next(i for i in out.items if i.key.startswith("body:"))
    assert (body.key, body.quantity) == ("body:body-24x48", 1)
    risers = next(i for i in out.items if i.key.startswith("basin-riser"))
    assert risers.quantity == 1  # 3 ft from floor to grate, base 24 in, riser 12 in


def test_a_scheme_that_breaks_everything_is_still_taken_off(hand) -> None:
    """The nearest Scheme of an impossible job: pipe over the ground, stone over the lawn, too many bodies."""
    wild = hand.scheme(
        downspouts=[hand.spout("D1", (0, 0), joint_ft=90.0)],
        wells=[hand.well("W1", (9, 0), stone_ft=9.0, pit_ft=(2.0, 2.0), bodies=3)],
        overflows=[hand.overflow("O1", "W1", (9, 0))],
        runs=[hand.run("P1", "D1", "W1", [(0, 0), (9, 0)], up_ft=120.0, down_ft=121.0)],
    )
    out = take_off(wild, hand.survey(), Book(1.0))
    assert out.excavation_m3 == pytest.approx(out.backfill_m3 + out.haul_m3)
    assert out.stone_m3 == 0 and out.backfill_m3 == 0
    assert all(item.quantity > 0 for item in out.items)


def test_geotextile_is_left_out_where_no_face_is_lined(hand) -> None:
    bare = replace(hand.house(), wells=(hand.well("W1", (70, 0), geotextile=()),))
    out = take_off(bare, hand.survey(), None)
    assert out.geotextile_m2 == 0 and not [i for i in out.items if i.group == "geotextile"]


def test_digging_by_hand_needs_no_machine(hand) -> None:
    machine = take_off(hand.house(), hand.survey(), None)
    by_hand = take_off(hand.house(), hand.survey(), None, by_hand=True)
    assert [i.quantity for i in machine.items if i.group == "rental"] == [2.0]
    assert not [i for i in by_hand.items if i.group == "rental"]
    assert by_hand.hours > machine.hours


@pytest.mark.parametrize(
    ("feet", "text"), [(0, "0+00"), (12, "0+12"), (12.4, "0+12"), (99.6, "1+00"), (250, "2+50")]
)
def test_stations(feet: float, text: str) -> None:
    assert station(feet * FOOT, "us") == text


def test_metric_station() -> None:
    assert station(3.6576, "metric") == "3.66 m"


@pytest.mark.parametrize(
    ("size", "key"), [(0.1016, "4in"), (0.110, "110mm"), (0.4572, "18in"), (0.0381, "1.5in")]
)
def test_size_keys(size: float, key: str) -> None:
    assert size_key(size) == key


def test_rounding_up_ignores_noise() -> None:
    assert up(0.1 + 0.2, 0.1) == pytest.approx(0.3) and up(0.31, 0.1) == pytest.approx(0.4)


@pytest.mark.parametrize("name", ["57", "#57", "No. 57", "no. 57"])
def test_stone_names(name: str) -> None:
    stone = stone_named(name)
    assert stone is not None and stone.key == "57"


def test_ranges_are_enforced() -> None:
    for call in (
        lambda: porosity_of_void_ratio(-0.1),
        lambda: dry_density_kg_m3(porosity=1.0, specific_gravity=2.65),
        lambda: dry_density_kg_m3(porosity=0.4, specific_gravity=0.0),
    ):
        with pytest.raises(InputError):
            call()
    assert porosity_of_void_ratio(0.0) == 0.0


def test_tables_name_their_sources_and_parse() -> None:
    """Every row of the four tables names a known source, and every size is a length."""
    known = tables.sources()
    for name in ("fitting_ends", "basin_sizes", "body_sizes", "stone_gradation", "work_rates"):
        for row in tables.rows(name):
            assert row["source"] in known, (name, row)
    for row in tables.rows("body_sizes"):
        assert length_m(row["diameter"]) > 2 * length_m(row["wall"]) > 0 < length_m(row["hole_diameter"])
    for row in tables.rows("basin_sizes"):
        assert length_m(row["outlet_most"]) < length_m(row["width"])
    assert all(kind.what for kind in fitting_kinds().values())


def test_sums_of_the_size_tables() -> None:
    """Counts and sums, so that one slipped digit cannot pass (common practice, no source)."""
    inches = [float(r["diameter"].split()[0]) for r in tables.rows("body_sizes") if r["units"] == "us"]
    assert (len(inches), sum(inches)) == (7, 18 + 24 * 3 + 30 + 36 + 48)
    assert math.isclose(
        sum(float(r["rate_per_hour"]) for r in tables.rows("work_rates")), 51.13 + 1 + 2 + 3 + 1
    )


def test_a_metric_observation_pipe_is_a_metric_pipe(hand) -> None:
    """The row of the table reads 4 in, and 110 mm in metric, where the trade sells 110 mm pipe (EN 1401-1 sizes)."""
    run = replace(
        hand.house().runs[-1],
        pipe="pvc-u",
        nominal_m=0.110,
        outside_diameter_m=0.110,
        inside_diameter_m=0.1036,
    )
    house = replace(hand.house(), runs=(*hand.house().runs[:-1], run))
    out = take_off(house, hand.survey("metric"), None)
    caps = [link for chain in out.chains for link in chain.links if link.kind == "cap"]
    assert caps, "no observation pipe"
    assert all(link.upper.size.nominal_m == pytest.approx(0.110) for link in caps)
