"""Each soil test of the job reduced: what it measures, its rate, the saturated conductivity, what to know about it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics.soil import infiltration, permeameter
from roofwell.system.facts import SoilTest
from roofwell.system.soil_ground import alphas_per_m
from roofwell.system.soil_test_parts import (
    FACES,
    RATE_IS_IT,
    Readings,
    day_remark,
    in_range,
    presoak_remark,
    reduced_test,
    si,
    smear_remark,
    standing_remark,
    steady_remark,
    units_remark,
    wanted,
    warmth_of,
)
from roofwell.units import Quantity


def soil_tests(job: model.Job) -> Iterator[SoilTest]:
    """Reduce every test that has a reading, in the order of the document; witnesses stand in ``soil_witness``."""
    soil = job.soil
    reduced: list[SoilTest] = []
    reduced += filter(None, (_auger(job, test) for test in soil.auger_tests))
    reduced += filter(None, (_pit(job, test) for test in soil.pit_tests))
    reduced += filter(None, (_percolation(job, test) for test in soil.percolation_tests))
    reduced += filter(None, (_constant_head(job, test) for test in soil.constant_head_tests))
    reduced += filter(None, (_rings(job, test) for test in soil.ring_tests))
    reduced += filter(None, (_fill(job, test) for test in soil.fill_tests))
    yield from reduced


def without_reading(soil: model.Soil) -> tuple[str, ...]:
    """Name the tests that have no reading: they count for nothing."""
    lists: Sequence[tuple[str, Sequence[object]]] = (
        *((test.id, test.readings) for test in soil.auger_tests),
        *((test.id, test.times) for test in soil.pit_tests),
        *((test.id, test.readings) for test in soil.constant_head_tests),
        *((test.id, test.readings) for test in soil.ring_tests),
        *((test.id, test.fills) for test in soil.fill_tests),
    )
    return tuple(f"{id} has no reading yet and counts for nothing" for id, readings in lists if not readings)


def _auger(job: model.Job, test: model.AugerTest) -> SoilTest | None:
    depth, radius = test.hole_depth.value_si, test.hole_diameter.value_si / 2
    alphas = alphas_per_m(job.soil, test.soil_class, depth)
    found, mean = Readings(), []
    for reading in test.readings:
        fall = {
            "radius_m": radius,
            "water_start_m": depth - reading.water_start.value_si,
            "water_end_m": max(depth - reading.water_end.value_si, 0.0),
            "time_s": reading.time.value_si,
        }
        found.rates.append(infiltration.falling_head_rate_m_s(**fall))
        mean.append(infiltration.falling_head_rate_mean_head_m_s(**fall))
        found.conductivities.append(
            in_range(
                lambda a, fall=fall: permeameter.falling_conductivity_m_s(**fall, alpha_star_per_m=a),  # type: ignore[misc]
                alphas,
            )
        )
    if not found.rates:
        return None
    lengths = [test.hole_depth, *(q for r in test.readings for q in (r.water_start, r.water_end))]
    return reduced_test(
        test.id,
        "falling head in an auger hole, logarithmic form, last fall",
        found,
        kind="auger hole",
        measures=FACES,
        other=(mean[-1], "mean-head form of county handbooks"),
        remarks=[
            presoak_remark(test.presoaked),
            steady_remark(found.rates, "falls"),
            standing_remark(found.rates),
            smear_remark(job, test.walls_scratched, depth),
            units_remark(lengths),
            day_remark(job, test.date),
        ],
        warmth=warmth_of(job, test.water_temperature),
        depth_m=depth,
    )


def _pit(job: model.Job, test: model.PitTest) -> SoilTest | None:
    length, width, deep = test.length.value_si, test.width.value_si, test.effective_depth.value_si
    voids = test.voids.value_si if test.voids is not None else 1.0
    alphas = alphas_per_m(job.soil, test.soil_class, si(test.depth))
    found = Readings()
    for time in test.times:
        found.rates.append(
            infiltration.test_pit_rate_m_s(
                length_m=length,
                width_m=width,
                effective_depth_m=deep,
                time_75_to_25_s=time.value_si,
                voids=voids,
            )
        )
        fall = (0.75 * deep, 0.25 * deep, time.value_si)
        found.conductivities.append(_of_pit(length * width, fall, voids, alphas))
    if not found.rates:
        return None
    few = None if len(found.rates) >= wanted() else "fewer than three fills"
    return reduced_test(
        test.id,
        "test pit, 75 % to 25 %, slowest fill",
        found,
        kind="test pit",
        measures="what floor and lower half of the walls take in, as the test-pit rule counts them",
        remarks=[
            few,
            units_remark([test.length, test.width, test.effective_depth]),
            day_remark(job, test.date),
        ],
        warmth=warmth_of(job, test.water_temperature),
        depth_m=si(test.depth),
        governing=found.rates.index(min(found.rates)),
    )


def _of_pit(
    floor_m2: float,
    fall: tuple[float, float, float],
    voids: float,
    alphas: Sequence[float],
) -> tuple[float, ...]:
    """Conductivity from a fall in a pit, as a round hole of the same floor; by its mean depth where it ran empty."""
    start, end, time = fall
    radius = math.sqrt(floor_m2 / math.pi)

    def exact(alpha: float) -> float:
        return permeameter.falling_conductivity_m_s(
            radius_m=radius,
            water_start_m=start,
            water_end_m=end,
            time_s=time,
            alpha_star_per_m=alpha,
            water_area_m2=floor_m2 * voids,
        )

    def by_mean_depth(alpha: float) -> float:
        taken = floor_m2 * voids * (start - end) / time
        per = permeameter.well_flow_per_conductivity_m2(
            head_m=(start + end) / 2, radius_m=radius, alpha_star_per_m=alpha
        )
        return taken / per

    return in_range(exact, alphas) or in_range(by_mean_depth, alphas)


def _percolation(job: model.Job, test: model.PercolationTest) -> SoilTest | None:
    raw, depth = test.rate.value_si, si(test.hole_depth)
    shared = [
        presoak_remark(test.presoaked),
        smear_remark(job, test.walls_scratched, depth),
        day_remark(job, test.date),
    ]
    warmth = warmth_of(job, test.water_temperature)
    if test.hole_diameter is None or test.water_start is None:
        note = (
            "hole size and water depth not given: the raw fall is not corrected for the wall and is too fast"
        )
        return reduced_test(
            test.id,
            "percolation, raw fall of the water",
            Readings([raw]),
            kind="percolation",
            measures="the fall of the water itself, its wall not taken out",
            remarks=[note, *shared],
            warmth=warmth,
            depth_m=depth,
        )
    start = test.water_start.value_si
    end = test.water_end.value_si if test.water_end is not None else start / 2
    radius = test.hole_diameter.value_si / 2
    rate = infiltration.percolation_rate_m_s(
        time_per_fall_s_m=1 / raw, radius_m=radius, head_start_m=start, head_end_m=end
    )
    k = in_range(
        lambda alpha: infiltration.percolation_conductivity_m_s(
            time_per_fall_s_m=1 / raw, radius_m=radius, head_m=(start + end) / 2, alpha_star_per_m=alpha
        ),
        alphas_per_m(job.soil, test.soil_class, depth),
    )
    return reduced_test(
        test.id,
        "percolation, corrected for the wall of the hole",
        Readings([rate], [k]),
        kind="percolation",
        measures=FACES,
        other=(raw, "raw fall"),
        remarks=[*shared, units_remark([test.hole_diameter, test.water_start, test.water_end])],
        warmth=warmth,
        depth_m=depth,
    )


def _constant_head(job: model.Job, test: model.ConstantHeadTest) -> SoilTest | None:
    depth, radius = test.hole_depth.value_si, test.hole_diameter.value_si / 2
    alphas = alphas_per_m(job.soil, test.soil_class, depth)
    steady: dict[float, float] = {}
    found = Readings()
    for reading in test.readings:
        if reading.flow is not None:
            flow = reading.flow.value_si
        elif reading.volume is not None and reading.time is not None:
            flow = reading.volume.value_si / reading.time.value_si
        else:
            continue
        head = reading.water_depth.value_si
        steady[head] = flow
        k = in_range(lambda a, q=flow, h=head: _one_head(q, h, radius, a), alphas)  # type: ignore[misc]
        if k:
            found.rates.append(k[1])
            found.conductivities.append(k)
    if not found.rates:
        return None
    method, remark = "constant head in a hole, one head, last reading", None
    if len(steady) > 1:
        (h1, q1), *_, (h2, q2) = sorted(steady.items())
        both = permeameter.two_heads(
            flows_m3_s=(q1, q2), heads_m=(h1, h2), radius_m=radius, alpha_star_per_m=alphas[1]
        )
        if both.sensible:
            found = Readings([both.conductivity_m_s], [(both.conductivity_m_s,)])
            method = "constant head in a hole, two heads solved together"
        else:
            remark = (
                "two heads that no one soil explains (layers or cracks): the last reading by itself is taken"
            )
    head, flow = next((h, q) for h, q in reversed(steady.items()))
    few = None if len(test.readings) >= wanted() else steady_remark(found.rates, "readings")
    if len(steady) == 1:
        few = steady_remark(found.rates, "readings")
    return reduced_test(
        test.id,
        method,
        found,
        kind="constant head",
        measures="field-saturated conductivity around the lower part of the hole, mostly sideways",
        method_k=RATE_IS_IT if len(steady) == 1 or remark else "two heads",
        other=_glover(test, flow, head, radius, depth),
        remarks=[
            remark,
            presoak_remark(test.presoaked),
            few,
            smear_remark(job, test.walls_scratched, depth),
            units_remark([test.hole_depth, *(r.water_depth for r in test.readings)]),
            day_remark(job, test.date),
        ],
        warmth=warmth_of(job, test.water_temperature),
        depth_m=depth,
    )


def _one_head(flow_m3_s: float, head_m: float, radius_m: float, alpha_star_per_m: float) -> float:
    return permeameter.well_conductivity_m_s(
        flow_m3_s=flow_m3_s, head_m=head_m, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m
    )


def _glover(
    test: model.ConstantHeadTest, flow_m3_s: float, head_m: float, radius_m: float, depth_m: float
) -> tuple[float, str] | None:
    """Glover beside it, in its range only."""
    table = si(test.water_table_depth)
    below = table - (depth_m - head_m) if table is not None else None
    try:
        k = permeameter.glover_conductivity_m_s(
            flow_m3_s=flow_m3_s, head_m=head_m, radius_m=radius_m, water_table_m=below
        )
    except InputError:
        return None
    return k, "Glover, capillarity not taken out"


def _rings(job: model.Job, test: model.RingTest) -> SoilTest | None:
    area = math.pi * test.inner_diameter.value_si**2 / 4
    found = Readings()
    for reading in test.readings:
        volume = reading.volume.value_si if reading.volume is not None else area * (si(reading.fall) or 0.0)
        rate = permeameter.ring_rate_m_s(volume_m3=volume, inner_area_m2=area, time_s=reading.time.value_si)
        found.rates.append(rate)
        found.conductivities.append((rate,))
    if not found.rates:
        return None
    return reduced_test(
        test.id,
        "double ring, inner ring, last reading",
        found,
        kind="double ring",
        measures="what goes straight down through the floor; the walls of a well are not tested by it",
        method_k=RATE_IS_IT,
        remarks=[
            presoak_remark(test.presoaked),
            steady_remark(found.rates, "readings"),
            standing_remark(found.rates),
            units_remark([test.inner_diameter, *(r.fall for r in test.readings)]),
            day_remark(job, test.date),
        ],
        warmth=warmth_of(job, test.water_temperature),
        depth_m=si(test.depth),
    )


def _fill(job: model.Job, test: model.FillTest) -> SoilTest | None:
    plan = floor_and_perimeter(test.diameter, test.length, test.width) or _of_well(job, test.well)
    if plan is None or not test.fills:
        return None
    floor, perimeter = plan
    voids = test.voids.value_si if test.voids is not None else 1.0
    alphas = alphas_per_m(job.soil, test.soil_class, si(test.depth))
    found = Readings()
    for fill in test.fills:
        start, end = fill.water_start.value_si, si(fill.water_end) or 0.0
        found.rates.append(
            permeameter.filled_pit_rate_m_s(
                floor_m2=floor,
                perimeter_m=perimeter,
                water_start_m=start,
                water_end_m=end,
                time_s=fill.time.value_si,
                voids=voids,
            )
        )
        fall = (start, end, fill.time.value_si)
        found.conductivities.append(_of_pit(floor, fall, voids, alphas))
    return reduced_test(
        test.id,
        "the dug hole itself, filled and timed, last fill",
        found,
        kind="fill",
        measures="what the whole pit takes in, floor and walls, at its own size and depth",
        remarks=[
            steady_remark(found.rates, "fills"),
            standing_remark(found.rates),
            smear_remark(job, test.walls_scratched, si(test.depth)),
            units_remark([*(f.water_start for f in test.fills), *(f.water_end for f in test.fills)]),
            day_remark(job, test.date),
        ],
        warmth=warmth_of(job, test.water_temperature),
        depth_m=si(test.depth),
        well=test.well,
    )


def floor_and_perimeter(
    diameter: Quantity | None, length: Quantity | None, width: Quantity | None
) -> tuple[float, float] | None:
    """Return floor (m²) and perimeter (m) of a pit; None while its size is not given whole."""
    if diameter is not None:
        across = diameter.value_si
        return math.pi * across**2 / 4, math.pi * across
    if length is not None and width is not None:
        a, b = length.value_si, width.value_si
        return a * b, 2 * (a + b)
    return None


def _of_well(job: model.Job, label: str | None) -> tuple[float, float] | None:
    named = job.wells.get(label) if label is not None else None
    if label is None and len(job.wells) == 1:
        named = next(iter(job.wells.values()))
    if named is None:
        return None
    return floor_and_perimeter(named.pit_diameter, named.pit_length, named.pit_width)


def without_size(job: model.Job) -> tuple[str, ...]:
    """Name the fill tests whose hole has no size: they count for nothing."""
    return tuple(
        f"{test.id}: the size of the hole is missing; write its diameter, or its length and width"
        for test in job.soil.fill_tests
        if test.fills
        and (floor_and_perimeter(test.diameter, test.length, test.width) or _of_well(job, test.well)) is None
    )
