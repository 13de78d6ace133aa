"""Soil tests, textures and groundwater: from the job's readings to a rate with its range."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofwell import tables, units
from roofwell.job import model
from roofwell.job.rules import RuleFile
from roofwell.physics.soil import infiltration
from roofwell.system.facts import Soil, SoilLayerFact, SoilTest
from roofwell.system.ledger import Ledger
from roofwell.units import Dimension


def soil_facts(job: model.Job, rules: RuleFile | None, ledger: Ledger) -> Soil:
    """Reduce the soil section: tests to one rate with its spread, else texture to a range, else all soils."""
    soil = job.soil
    tests = (*_auger(soil), *_pits(soil), *_percolation(soil))
    factor = _safety_factor(soil, rules, ledger)
    if soil.rate is not None:
        tests = (*tests, SoilTest("rate", soil.rate_from or "given rate", soil.rate.value_si, None, "", ()))
    layers = _layers(soil, tested=bool(tests))
    by_layer = [layer for layer in layers if layer.known]
    if tests:
        low, best, high, basis = _of_tests(tests)
        known = True
    elif by_layer and len(by_layer) == len(soil.layers):
        low = best = high = by_layer[-1].best_m_s  # deeper than anybody looked, the last one stands in
        basis, known = "no test", True
    else:
        low, best, high, basis = _of_texture(soil.texture, ledger)
        known = False
        ledger.lack("soil.rate")
    if layers:
        basis += f"; by layer: {_listed(layers, ledger.style)}"
    water, water_basis = soil.seasonal_high_water, soil.high_water_known_by
    if water is None and high_water_depth_m(soil) is None:
        ledger.lack("soil.seasonal_high_water")
    elif water is None and soil.seasonal_high_water_depth is None:
        water_basis = "mottling"
    return Soil(
        low_m_s=low,
        best_m_s=best,
        high_m_s=high,
        known=known,
        basis=basis,
        safety_factor=factor,
        tests=tests,
        high_water_m=water.value_si if water is not None else None,
        high_water_basis=water_basis,
        frost_depth_m=soil.frost_depth.value_si if soil.frost_depth is not None else None,
        layers=layers,
        tested=bool(tests),
    )


def high_water_depth_m(soil: model.Soil) -> float | None:
    """Return the depth of the seasonal high water below the ground: as given, else the top of the mottling, m."""
    if soil.seasonal_high_water_depth is not None:
        return soil.seasonal_high_water_depth.value_si
    return min((layer.top.value_si for layer in soil.layers if layer.mottled), default=None)


def _layers(soil: model.Soil, *, tested: bool) -> tuple[SoilLayerFact, ...]:
    """Layers with a rate of their own; a texture only stands for one where nothing was tested."""
    out = []
    for layer in soil.layers:
        if layer.rate is not None:
            rate = layer.rate.value_si
            figures = (rate, rate, rate)
        elif not tested and (published := _published(layer.texture)) is not None:
            figures = published
        else:
            continue
        out.append(SoilLayerFact(layer.top.value_si, layer.bottom.value_si, *figures, layer.rate is not None))
    return tuple(out)


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


def _safety_factor(soil: model.Soil, rules: RuleFile | None, ledger: Ledger) -> float:
    if soil.safety_factor is not None:
        return ledger.given("soil.safety_factor", soil.safety_factor)
    if rules is not None and rules.safety_factor is not None:
        return ledger.given("soil.safety_factor", rules.safety_factor)
    return ledger.assume("soil.safety_factor", "soil-safety-factor")


def _auger(soil: model.Soil) -> tuple[SoilTest, ...]:
    out = []
    for test in soil.auger_tests:
        depth = test.hole_depth.value_si
        radius = test.hole_diameter.value_si / 2
        exact, mean = [], []
        for reading in test.readings:
            heights = {
                "water_start_m": depth - reading.water_start.value_si,
                "water_end_m": depth - reading.water_end.value_si,
            }
            exact.append(
                infiltration.falling_head_rate_m_s(radius_m=radius, time_s=reading.time.value_si, **heights)
            )
            mean.append(
                infiltration.falling_head_rate_mean_head_m_s(
                    radius_m=radius, time_s=reading.time.value_si, **heights
                )
            )
        if not exact:
            continue
        remarks = []
        if test.presoaked is not True:
            remarks.append("not said to be presoaked: a dry hole drinks faster than the soil will later")
        if len(exact) < 3:
            remarks.append("fewer than three falls: it cannot be seen whether the rate was steady")
        elif not _steady(exact[-3:]):
            share = tables.assumption("steady-within").text
            remarks.append(f"the last three falls do not agree within {share}: read on until they do")
        out.append(
            SoilTest(
                test.id,
                "falling head in an auger hole, logarithmic form, last fall",
                exact[-1],
                mean[-1],
                "mean-head form of county handbooks",
                tuple(remarks),
                depth,
            )
        )
    return tuple(out)


def _steady(last: Sequence[float]) -> bool:
    mean = sum(last) / len(last)
    return max(last) - min(last) <= tables.assumption("steady-within").value_si * mean


def _pits(soil: model.Soil) -> tuple[SoilTest, ...]:
    out = []
    for test in soil.pit_tests:
        rates = [
            infiltration.test_pit_rate_m_s(
                length_m=test.length.value_si,
                width_m=test.width.value_si,
                effective_depth_m=test.effective_depth.value_si,
                time_75_to_25_s=time.value_si,
                voids=test.voids.value_si if test.voids is not None else 1.0,
            )
            for time in test.times
        ]
        if rates:
            few = () if len(rates) >= 3 else ("fewer than three fills",)
            out.append(SoilTest(test.id, "test pit, 75 % to 25 %, slowest fill", min(rates), None, "", few))
    return tuple(out)


def _percolation(soil: model.Soil) -> tuple[SoilTest, ...]:
    out = []
    for test in soil.percolation_tests:
        raw = test.rate.value_si
        sized = test.hole_diameter is not None and test.water_start is not None
        if sized and test.hole_diameter is not None and test.water_start is not None:
            start = test.water_start.value_si
            end = test.water_end.value_si if test.water_end is not None else start / 2
            rate = infiltration.percolation_rate_m_s(
                time_per_fall_s_m=1 / raw,
                radius_m=test.hole_diameter.value_si / 2,
                head_start_m=start,
                head_end_m=end,
            )
            out.append(
                SoilTest(
                    test.id, "percolation, corrected for the wall of the hole", rate, raw, "raw fall", ()
                )
            )
        else:
            note = "hole size and water depth not given: the raw fall is not corrected for the wall and is too fast"
            out.append(SoilTest(test.id, "percolation, raw fall of the water", raw, None, "", (note,)))
    return tuple(out)


def _of_tests(tests: Sequence[SoilTest]) -> tuple[float, float, float, str]:
    rates = [test.rate_m_s for test in tests]
    # A hole in which the water stood still takes nothing; neither does a mean with it.
    best = math.exp(sum(math.log(rate) for rate in rates) / len(rates)) if min(rates) > 0 else 0.0
    count = "one test" if len(rates) == 1 else f"geometric mean of {len(rates)} tests"
    return min(rates), best, max(rates), count


def _of_texture(texture: str | None, ledger: Ledger) -> tuple[float, float, float, str]:
    published = _published(texture)
    if published is None or texture is None:
        low = ledger.assume("soil.rate.low", "stand-in-soil-rate-low")
        high = ledger.assume("soil.rate.high", "stand-in-soil-rate-high")
        return low, math.sqrt(low * high), high, "no test and no texture: all published soils"
    return *published, f"no test: published rates of {texture.strip().lower()}"


def _published(texture: str | None) -> tuple[float, float, float] | None:
    """Least, middle and greatest published rate of a texture, m/s; None where it is not in the table."""
    rows = {row["texture"]: row for row in tables.rows("soil_texture")}
    row = rows.get(texture.strip().lower()) if texture else None
    if row is None:
        return None
    low, best, high = (units.parse(row[key], Dimension.RATE).value_si for key in ("low", "best", "high"))
    return low, best, high
