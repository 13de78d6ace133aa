"""Soil tests, textures and groundwater: from the job's readings to a rate with its range."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofwell import tables, units
from roofwell.job import model
from roofwell.job.rules import RuleFile
from roofwell.physics.soil import spread
from roofwell.system.facts import AssumedValue, Soil, SoilLayerFact, SoilTest
from roofwell.system.ledger import Ledger
from roofwell.system.safety_factor import safety_factor
from roofwell.system.soil_ground import (
    capillarity_per_m,
    out_of_wet_season,
    row_of,
    water_of_tests_c,
    wetting_front,
)
from roofwell.system.soil_tests import soil_tests, without_reading, without_size
from roofwell.system.soil_witness import witnesses
from roofwell.units import Dimension


def soil_facts(job: model.Job, rules: RuleFile | None, ledger: Ledger, *, roof_m2: float = 0.0) -> Soil:
    """Reduce the soil section: tests to one rate with its spread, else texture to a range, else all soils.

    ``roof_m2``: all roof that is measured, for the safety factor by consequence.
    """
    soil = job.soil
    told, lacking = witnesses(job, rules)
    tests = (*soil_tests(job), *(witness for witness in told if witness.counts))
    factor, said = safety_factor(soil, rules, roof_m2, ledger)
    if soil.rate is not None:
        given = SoilTest(
            "rate", soil.rate_from or "given rate", soil.rate.value_si, None, "", (), kind="given rate"
        )
        tests = (*tests, given)
    hearsay = tuple(witness for witness in told if not witness.counts)
    layers = _layers(soil, ledger, tested=bool(tests))
    by_layer = [layer for layer in layers if layer.known]
    if tests:
        low, best, high, basis = _of_tests(tests)
        known = True
    elif by_layer and len(by_layer) == len(soil.layers):
        low = best = high = by_layer[-1].best_m_s  # deeper than anybody looked, the last one stands in
        basis, known = "no test", True
    elif hearsay:
        low, best, high, basis = _of_hearsay(hearsay)
        known = False
        ledger.lack("soil.rate")
    else:
        low, best, high, basis = _of_texture(soil.texture, ledger)
        known = False
        ledger.lack("soil.rate")
    if layers:
        basis += f"; by layer: {_listed(layers, ledger.style)}"
    water = soil.seasonal_high_water
    water_basis: str | None = soil.high_water_known_by
    dry = _seen_when_dry(job)
    if dry or (water is None and high_water_depth_m(soil) is None):
        ledger.lack("soil.seasonal_high_water")
    if water is None and soil.seasonal_high_water_depth is None:
        water_basis = _shallowest(soil)[1]
    log_spread, measured = _log_spread(tests, ledger)
    low_k, best_k, high_k = _conductivity(tests)
    suction, porosity = wetting_front(soil.texture)
    return Soil(
        low_m_s=low,
        best_m_s=best,
        high_m_s=high,
        known=known,
        basis=basis,
        safety_factor=factor,
        tests=(*tests, *hearsay),
        high_water_m=water.value_si if water is not None else None,
        high_water_basis=water_basis,
        frost_depth_m=soil.frost_depth.value_si if soil.frost_depth is not None else None,
        layers=layers,
        tested=bool(tests),
        log_spread=log_spread,
        log_spread_measured=measured,
        conductivity_low_m_s=low_k,
        conductivity_m_s=best_k,
        conductivity_high_m_s=high_k,
        refusal_depth_m=soil.refusal_depth.value_si if soil.refusal_depth is not None else None,
        refusal_on=soil.refusal_on,
        notes=(
            *without_reading(soil),
            *without_size(job),
            *lacking,
            *_one_spot(tests),
            *_water_notes(soil),
            *dry,
            *said,
        ),
        conductivity_used_m_s=_mean([test.conductivity_used_m_s for test in tests]),
        capillarity_per_m=capillarity_per_m(soil),
        front_suction_m=suction,
        effective_porosity=porosity,
        water_c=water_of_tests_c(soil),
        month_c=tuple(temperature.value_si for temperature in soil.water_temperatures),
        silting_year=soil.silting_a_year.value_si if soil.silting_a_year is not None else 0.0,
    )


def high_water_depth_m(soil: model.Soil) -> float | None:
    """Return the depth of the seasonal high water below the ground, m.

    As given, else the shallower of where water was seen and where mottling begins; None where nobody looked.
    """
    if soil.seasonal_high_water_depth is not None:
        return soil.seasonal_high_water_depth.value_si
    return _shallowest(soil)[0]


def _shallowest(soil: model.Soil) -> tuple[float | None, str | None]:
    """The shallowest sign of water in the ground, and what it is."""
    signs = [(layer.top.value_si, "mottling") for layer in soil.layers if layer.mottled]
    signs += [(layer.top.value_si, "observed") for layer in soil.layers if layer.water]
    if soil.water_seen_depth is not None:
        signs.append((soil.water_seen_depth.value_si, "observed"))
    return min(signs, default=(None, None))


def _seen_when_dry(job: model.Job) -> tuple[str, ...]:
    """Say that the water level rests on one look outside the wet season; nothing where it rests on something else.

    Mottling is the mark of water that stood there in wet seasons, and a record, a map or a neighbor tell of years: only
    water seen on a day goes by the day. In the wet season it may still rise; outside it, it does.
    """
    soil = job.soil
    given = soil.seasonal_high_water is not None or soil.seasonal_high_water_depth is not None
    by: str | None = soil.high_water_known_by if given else _shallowest(soil)[1]
    day = soil.high_water_date if given else soil.water_seen_date
    if by != "observed" or day is None or not out_of_wet_season(day, job.place.latitude):
        return ()
    return (
        f"the water in the ground was seen on {day.isoformat()}, outside the wet season: it rises by then, and how far is "
        "not known from it; look again from the first wet month to the last, or find the mottling in the hole",
    )


def _one_spot(tests: Sequence[SoilTest]) -> tuple[str, ...]:
    """Say that one small hole shows one spot; a whole pit shows what a whole pit does."""
    if len(tests) != 1 or tests[0].kind in ("given rate", "fill", "test pit", "witness"):
        return ()
    return ("one small hole shows one spot: a second one some steps away shows how far this soil scatters",)


def _water_notes(soil: model.Soil) -> tuple[str, ...]:
    """Say where the log of the pit shows water above the seasonal high water that the job gives."""
    given = soil.seasonal_high_water_depth
    shallow, sign = _shallowest(soil)
    if given is None or shallow is None or shallow >= given.value_si:
        return ()
    return (
        f"the pit log shows {'water' if sign == 'observed' else 'mottling'} above the seasonal high water of {given.text} "
        "that is given: take the shallower one, or write why not",
    )


def _layers(soil: model.Soil, ledger: Ledger, *, tested: bool) -> tuple[SoilLayerFact, ...]:
    """Layers with a rate of their own; a texture only stands for one where nothing was tested, and is then assumed."""
    out = []
    for number, layer in enumerate(soil.layers, 1):
        if layer.rate is not None:
            rate = layer.rate.value_si
            figures = (rate, rate, rate)
        elif not tested and (published := _published(layer.texture)) is not None:
            figures = published
            _assume_layer(layer, number, figures, ledger)
        else:
            continue
        out.append(SoilLayerFact(layer.top.value_si, layer.bottom.value_si, *figures, layer.rate is not None))
    return tuple(out)


def _assume_layer(
    layer: model.SoilLayer, number: int, figures: tuple[float, float, float], ledger: Ledger
) -> None:
    row = row_of(layer.texture)
    if row is None:
        return
    low, best, high = (units.show_rate(rate, ledger.style) for rate in figures)
    where = " to ".join(
        units.show_distance(edge.value_si, ledger.style) for edge in (layer.top, layer.bottom)
    )
    what = f"rate of the layer {where} down: {row['texture']}, published {low} to {high}"
    how = tables.assumption("stand-in-soil-rate-low", ledger.style).how_to_measure
    path = f"soil.layers.{number}.rate"
    ledger.assume_row(
        AssumedValue(path, best, what, f"{how}; write the rate of the layer", row["source"]), figures[1]
    )


def _listed(layers: Sequence[SoilLayerFact], style: units.Style) -> str:
    return ", ".join(
        f"{units.show_distance(layer.top_m, style)} to {units.show_distance(layer.bottom_m, style)} down "
        + (
            units.show_rate(layer.best_m_s, style)
            if layer.known
            else f"{units.show_rate(layer.low_m_s, style)} to {units.show_rate(layer.high_m_s, style)}"
        )
        for layer in layers
    )


def _of_tests(tests: Sequence[SoilTest]) -> tuple[float, float, float, str]:
    rates = [test.rate_m_s for test in tests]
    # A hole in which the water stood still takes nothing; neither does a mean with it.
    best = spread.combine(rates).geometric_mean_m_s if min(rates) > 0 else 0.0
    count = "one test" if len(rates) == 1 else f"geometric mean of {len(rates)} tests"
    return min(rates), best, max(rates), count


def _of_hearsay(told: Sequence[SoilTest]) -> tuple[float, float, float, str]:
    """The range that told behavior of older wells leaves open; no test, so no answer."""
    lows = [witness.low_m_s if witness.low_m_s is not None else witness.rate_m_s for witness in told]
    highs = [witness.high_m_s if witness.high_m_s is not None else witness.rate_m_s for witness in told]
    best = spread.combine([witness.rate_m_s for witness in told]).geometric_mean_m_s
    said = " and ".join(f"{witness.id}, {witness.method}" for witness in told)
    return min(lows), best, max(highs), f"no test: told of {said}"


def _log_spread(tests: Sequence[SoilTest], ledger: Ledger) -> tuple[float | None, bool]:
    """Deviation of ln(rate) from place to place: of the tests, else the published one."""
    rates = [test.rate_m_s for test in tests]
    if not rates:
        return None, False
    if len(rates) > 1 and min(rates) > 0:
        return spread.combine(rates).log_spread, True
    return spread.log_spread_of(tables.assumption("soil-variation", ledger.style).value_si), False


def _conductivity(tests: Sequence[SoilTest]) -> tuple[float | None, float | None, float | None]:
    """Lowest, geometric mean and highest saturated conductivity of the tests that have one, m/s."""
    known = [test for test in tests if test.conductivity_m_s is not None]
    values = [test.conductivity_m_s for test in known if test.conductivity_m_s is not None]
    if not values:
        return None, None, None
    best = spread.combine(values).geometric_mean_m_s if min(values) > 0 else 0.0
    lows = [test.conductivity_low_m_s for test in known if test.conductivity_low_m_s is not None]
    highs = [test.conductivity_high_m_s for test in known if test.conductivity_high_m_s is not None]
    return min(lows), best, max(highs)


def _mean(values: Sequence[float | None]) -> float | None:
    """Geometric mean of those that are known; 0 where one of them is."""
    known = [value for value in values if value is not None]
    if not known:
        return None
    return spread.combine(known).geometric_mean_m_s if min(known) > 0 else 0.0


def _of_texture(texture: str | None, ledger: Ledger) -> tuple[float, float, float, str]:
    published, row = _published(texture), row_of(texture)
    if published is None or row is None:
        low = ledger.assume("soil.rate.low", "stand-in-soil-rate-low")
        high = ledger.assume("soil.rate.high", "stand-in-soil-rate-high")
        return low, math.sqrt(low * high), high, "no test and no texture: all published soils"
    name, how = row["texture"], tables.assumption("stand-in-soil-rate-low", ledger.style).how_to_measure
    for end, word, rate in (("low", "slowest", published[0]), ("high", "fastest", published[2])):
        what = f"{word} published rate of {name}, while there is no test"
        said = AssumedValue(f"soil.rate.{end}", units.show_rate(rate, ledger.style), what, how, row["source"])
        ledger.assume_row(said, rate)
    return *published, f"no test: published rates of {name}"


def _published(texture: str | None) -> tuple[float, float, float] | None:
    """Least, middle and greatest published rate of a texture, m/s; None where it is not in the table."""
    row = row_of(texture)
    if row is None:
        return None
    low, best, high = (units.parse(row[key], Dimension.RATE).value_si for key in ("low", "best", "high"))
    return low, best, high
