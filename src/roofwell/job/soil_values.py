"""Readings and depths of ``[soil]`` that contradict each other or cannot have been taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roofwell.job.lines import KeyPath
from roofwell.job.model import AugerTest, ConstantHeadTest, Job, RingTest, Soil
from roofwell.job.problems import Fault, nearest
from roofwell.job.rain_values import MONTHS
from roofwell.units import Quantity

TESTS = (
    "auger_tests",
    "pit_tests",
    "percolation_tests",
    "constant_head_tests",
    "ring_tests",
    "fill_tests",
    "witnesses",
)
COLDEST_C, WARMEST_C = 0, 30


def soil_faults(job: Job) -> Iterator[Fault]:
    """Find what cannot hold together in the soil section; each fault drops what cannot be trusted."""
    soil = job.soil
    yield from _water(soil)
    yield from _layers(soil)
    yield from _labels(job)
    yield from _temperatures(soil)
    for index, auger in enumerate(soil.auger_tests):
        yield from _auger(("soil", "auger_tests", index), auger)
    for index, perc in enumerate(soil.percolation_tests):
        if _over(perc.water_end, perc.water_start):
            path: KeyPath = ("soil", "percolation_tests", index)
            message = (
                "the water stood higher at the end than at the start; heights are over the floor of the hole"
            )
            yield _pair(path, "water_end", "water_start", message, "makes-no-sense")
    for index, constant in enumerate(soil.constant_head_tests):
        yield from _constant_head(("soil", "constant_head_tests", index), constant)
    for index, ring in enumerate(soil.ring_tests):
        yield from _rings(("soil", "ring_tests", index), ring)
    for index, test in enumerate(soil.fill_tests):
        path = ("soil", "fill_tests", index)
        yield from _plan(path, test.diameter, test.length, test.width)
        for place, fill in enumerate(test.fills):
            if _over(fill.water_end, fill.water_start):
                message = f"the water would have risen from {fill.water_start.text}; depths are over the floor of the hole"
                at: KeyPath = (*path, "fills", place)
                yield Fault((*at, "water_end"), message, "makes-no-sense", (at,))
            elif _over(fill.water_start, test.depth):
                assert test.depth is not None
                at = (*path, "fills", place)
                message = f"the hole is only {test.depth.text} deep"
                yield Fault((*at, "water_start"), message, "makes-no-sense", (at,))
    for index, witness in enumerate(soil.witnesses):
        yield from _plan(("soil", "witnesses", index), witness.diameter, witness.length, witness.width)
    for index, pit in enumerate(soil.pit_tests):
        at = ("soil", "pit_tests", index)
        if _over(pit.effective_depth, pit.depth):
            assert pit.depth is not None
            message = f"the pit is only {pit.depth.text} deep"
            yield _pair(at, "effective_depth", "depth", message, "makes-no-sense")


def _pair(table: KeyPath, first: str, second: str, message: str, code: str = "contradiction") -> Fault:
    return Fault((*table, first), message, code, ((*table, first), (*table, second)))


def _over(a: Quantity | None, b: Quantity | None) -> bool:
    return a is not None and b is not None and a.exact > b.exact


def _water(soil: Soil) -> Iterator[Fault]:
    if soil.seasonal_high_water is not None and soil.seasonal_high_water_depth is not None:
        message = (
            "seasonal high water is given as an elevation and as a depth; keep the one that was measured"
        )
        yield _pair(("soil",), "seasonal_high_water", "seasonal_high_water_depth", message, "given-twice")
    elif _over(soil.seasonal_high_water_depth, soil.water_seen_depth):
        assert soil.water_seen_depth is not None
        message = f"water was seen at {soil.water_seen_depth.text} down; the seasonal high water is no deeper than that"
        yield _pair(("soil",), "seasonal_high_water_depth", "water_seen_depth", message)


def _layers(soil: Soil) -> Iterator[Fault]:
    for index, layer in enumerate(soil.layers):
        path: KeyPath = ("soil", "layers", index)
        if layer.bottom.exact <= layer.top.exact:
            message = (
                f"depths count from the ground down; the bottom lies deeper than the top ({layer.top.text})"
            )
            yield Fault((*path, "bottom"), message, "contradiction", (path,))
        elif index and layer.top.exact < soil.layers[index - 1].bottom.exact:
            message = (
                f"the layer before reaches to {soil.layers[index - 1].bottom.text}; layers cannot overlap"
            )
            yield Fault((*path, "top"), message, "contradiction", (path,))


def _labels(job: Job) -> Iterator[Fault]:
    seen: set[str] = set()
    for name in TESTS:
        for index, test in enumerate(getattr(job.soil, name)):
            path: KeyPath = ("soil", name, index)
            if test.id in seen:
                yield Fault(
                    (*path, "id"), f"{test.id} is already the label of a test", "label-twice", (path,)
                )
            seen.add(test.id)
            well = getattr(test, "well", None)
            if well is not None and job.wells and well not in job.wells:
                message = f"no well has this label; {nearest(well, sorted(job.wells))}"
                yield Fault((*path, "well"), message, "no-such-part", ((*path, "well"),))


def _temperatures(soil: Soil) -> Iterator[Fault]:
    places: list[tuple[KeyPath, Quantity | None]] = [(("soil", "water_temperature"), soil.water_temperature)]
    for name in TESTS:
        places += [
            (("soil", name, index, "water_temperature"), getattr(test, "water_temperature", None))
            for index, test in enumerate(getattr(soil, name))
        ]
    places += [
        (("soil", "water_temperatures", index), temperature)
        for index, temperature in enumerate(soil.water_temperatures)
    ]
    if soil.water_temperatures and len(soil.water_temperatures) != MONTHS:
        months: KeyPath = ("soil", "water_temperatures")
        message = f"{len(soil.water_temperatures)} temperatures; a year has twelve months, January first"
        yield Fault(months, message, "makes-no-sense", (months,))
        return
    for path, temperature in places:
        if temperature is not None and not COLDEST_C <= temperature.value_si <= WARMEST_C:
            message = 'water that soaks away is between 32 F and 86 F (0 C and 30 C), such as "50 F"'
            yield Fault(path, message, "makes-no-sense", (path,))


def _auger(path: KeyPath, test: AugerTest) -> Iterator[Fault]:
    for place, reading in enumerate(test.readings):
        at = (*path, "readings", place)
        before = test.readings[place - 1] if place else None
        if reading.water_start.exact >= test.hole_depth.exact:
            message = f"no water stood in the hole, which is {test.hole_depth.text} deep"
            yield Fault((*at, "water_start"), message, "makes-no-sense", (at,))
        elif reading.water_end.exact < reading.water_start.exact:
            message = (
                f"the water would have risen, from {reading.water_start.text} deep to "
                f"{reading.water_end.text}; depths count from the top of the hole"
            )
            yield Fault((*at, "water_end"), message, "makes-no-sense", (at,))
        elif reading.water_end.exact > test.hole_depth.exact:
            message = f"the hole is only {test.hole_depth.text} deep"
            yield Fault((*at, "water_end"), message, "makes-no-sense", (at,))
        elif (
            before is not None
            and reading.water_end.exact == before.water_start.exact > reading.water_start.exact
            and before.water_end.exact > before.water_start.exact
        ):
            message = (
                f"this fall ends where the one before it begins, at {reading.water_end.text}: they are out of order; "
                "write the readings in the order of the clock"
            )
            yield Fault((*at, "water_start"), message, "out-of-order", (at,))


def _constant_head(path: KeyPath, test: ConstantHeadTest) -> Iterator[Fault]:
    for place, reading in enumerate(test.readings):
        at = (*path, "readings", place)
        if reading.water_depth.exact > test.hole_depth.exact:
            message = (
                f"the hole is only {test.hole_depth.text} deep; this is the depth of the water over its floor"
            )
            yield Fault((*at, "water_depth"), message, "makes-no-sense", (at,))
        elif reading.flow is not None and reading.volume is not None:
            yield _pair(
                at, "flow", "volume", "a flow, or a volume and its time; keep one of them", "given-twice"
            )
        elif reading.flow is None and (reading.volume is None or reading.time is None):
            message = 'a flow is needed, or a volume and its time, such as volume = "1 gal", time = "12 min"'
            yield Fault(at, message, "missing", (at,))
    table = test.water_table_depth
    if table is not None and table.exact <= test.hole_depth.exact:
        message = f"the hole of {test.hole_depth.text} would stand in the water: this test is for dry ground"
        yield Fault((*path, "water_table_depth"), message, "contradiction", ((*path, "water_table_depth"),))


def _rings(path: KeyPath, test: RingTest) -> Iterator[Fault]:
    outer = test.outer_diameter
    if outer is not None and outer.exact <= test.inner_diameter.exact:
        yield _pair(path, "outer_diameter", "inner_diameter", "the outer ring must be the larger one")
    for place, reading in enumerate(test.readings):
        at = (*path, "readings", place)
        if reading.volume is not None and reading.fall is not None:
            yield _pair(at, "volume", "fall", "a volume, or a fall of the water; keep one", "given-twice")
        elif reading.volume is None and reading.fall is None:
            message = 'a volume or a fall is needed, such as fall = "1/2 in"'
            yield Fault(at, message, "missing", (at,))


def _plan(
    path: KeyPath, diameter: Quantity | None, length: Quantity | None, width: Quantity | None
) -> Iterator[Fault]:
    sides: Sequence[tuple[str, Quantity | None]] = (("length", length), ("width", width))
    for key, side in sides:
        if diameter is not None and side is not None:
            yield _pair(path, key, "diameter", f"a round hole has a diameter, no {key}")
