"""The demo's main figures once more, from its document and the published formulas, by numpy and scipy alone.

Nothing of ``roofwell.physics`` or ``roofwell.system`` reckons here. Formulas: Elrick and Reynolds (1992), three-dimensional
flow from a well with the shape factor of structured soil, Zhang et al. (1998), (x / (2.074 + 0.093 x))^0.754; below half a
radius of depth a straight line down to the floor's own intake. Alternating blocks: Chow, Maidment and Mays 1988. Sizes of
the designed pit are taken from the Scheme, all else from the document.
"""

from __future__ import annotations

import functools
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from roofwell import examples, job, tables
from roofwell.design import Design, design

IN, FT = 0.0254, 0.3048
GPM = 6.30901964e-5
ROOF_M2 = 1380 * FT**2  # four faces: 15 x 15 and 31 x 15 by half, twice
WETTING_M = 0.05 * IN
CAPILLARY_PER_M = 12.0  # most structured soils, medium and fine sands; Elrick and others 1989
MINUTES = np.array([5, 10, 15, 30, 60, 120, 180, 360, 720, 1440.0])
TEN_YEAR_IN = np.array([0.568, 0.908, 1.15, 1.66, 2.17, 2.54, 2.76, 3.31, 3.92, 4.70])


@functools.cache
def demo() -> Design:
    read = job.read_file(examples.path("bungalow"))
    return design(read.job, folder=read.folder, beyond=False)


def shape(x: float) -> float:
    return (x / (2.074 + 0.093 * x)) ** 0.754


def flow_over_k(head: float, radius: float) -> float:
    """Steady flow from a well over the conductivity, m²; a straight line below half a radius of head."""
    if head < radius / 2:
        least = flow_over_k(radius / 2, radius)
        floor = math.pi * radius**2
        return floor + (least - floor) * head / (radius / 2)
    c = shape(head / radius)
    return (2 * math.pi * head**2 + c * math.pi * radius**2 + 2 * math.pi * head / CAPILLARY_PER_M) / c


def conductivity() -> float:
    """The third reading of the auger hole: 42 to 58.3 in down a 4 in hole of 72 in, in 15 minutes."""
    radius = 2 * IN
    fall, _ = quad(lambda head: math.pi * radius**2 / flow_over_k(head, radius), (72 - 58.3) * IN, 30 * IN)
    return fall / 900


def rate() -> float:
    """The same fall over the hole's walls and floor (inverse auger hole)."""
    return 2 * IN / 2 / 900 * math.log((30 + 1) / (72 - 58.3 + 1))


class Pit:
    """The designed pit: stone under, beside and over four bodies, and the riser above."""

    def __init__(self) -> None:
        well = demo().scheme.wells[0]
        self.area = well.pit_length_m * well.pit_width_m
        self.around = 2 * (well.pit_length_m + well.pit_width_m)
        outside = well.bodies * math.pi / 4 * well.body_diameter_m**2
        hollow = well.bodies * math.pi / 4 * (well.body_diameter_m - 2 * well.body_wall_m) ** 2
        stone = 0.4
        riser = well.layers[-1].pit_area_m2
        tops = np.cumsum([0.0, 6 * IN, well.body_height_m, 4 * IN])
        self.stone_top = float(tops[-1])
        self.depths = np.array([*tops, well.lip_m - well.bottom_m])
        holds = [stone * self.area, stone * (self.area - outside) + hollow, stone * self.area, riser]
        self.volumes = np.concatenate([[0.0], np.cumsum(np.diff(self.depths) * holds)])
        self.fine = np.linspace(0.0, float(self.depths[-1]), 2001)
        self.at_fine = np.interp(self.fine, self.depths, self.volumes)

    @property
    def holds(self) -> float:
        return float(self.volumes[-1])

    def by_conductivity(self) -> np.ndarray:
        """What soaks at each fine depth, over a safety factor of 2; in the riser nothing more."""
        radius = math.sqrt(self.area / math.pi)
        return conductivity() / 2 * np.array([flow_over_k(min(d, self.stone_top), radius) for d in self.fine])

    def by_the_office(self) -> np.ndarray:
        """Rate over the bottom and half of the wetted sides."""
        return rate() / 2 * (self.area + self.around * np.minimum(self.fine, self.stone_top) / 2)

    def empties_in(self, soaks: np.ndarray) -> float:
        return float(np.trapezoid(1 / soaks, self.at_fine))

    def fill(
        self, inflow: np.ndarray, step: float, soaks: np.ndarray, parts: int
    ) -> tuple[float, np.ndarray]:
        """Follow the water by midpoint steps; return the most that stood in it, and what spilled in each step."""
        volume = most = 0.0
        spilled, h = np.zeros(len(inflow)), step / parts
        for i, comes in enumerate(inflow):
            if volume <= 1e-9 and comes == 0:
                volume = 0.0
                continue
            for _ in range(parts):
                half = volume + h / 2 * (comes - np.interp(volume, self.at_fine, soaks))
                volume = max(0.0, volume + h * (comes - np.interp(max(half, 0.0), self.at_fine, soaks)))
                spilled[i] += max(0.0, volume - self.holds)
                volume = min(volume, self.holds)
                most = max(most, volume)
        return most, spilled


def storm(minutes: float) -> np.ndarray:
    """Alternating blocks of 5 minutes from the table, log-log between its durations, less what wets the roof; m."""
    count = round(minutes / 5)
    depth = (
        np.exp(np.interp(np.log(5.0 * np.arange(1, count + 1)), np.log(MINUTES), np.log(TEN_YEAR_IN))) * IN
    )
    blocks = np.sort(np.diff(np.concatenate([[0.0], depth])))[::-1]
    middle, places, away = count // 2, [count // 2], 1
    while len(places) < count:
        places += [p for p in (middle + away, middle - away) if 0 <= p < count][: count - len(places)]
        away += 1
    out = np.zeros(count)
    out[places] = blocks
    return wetted(out, gap=10**9)


def wetted(rain: np.ndarray, *, gap: int) -> np.ndarray:
    """Take off what wets the roof, once per rain event; events are parted by ``gap`` dry steps."""
    out, left, dry = rain.copy(), WETTING_M, 0
    for i in np.flatnonzero(rain):
        dry = i - dry
        left = WETTING_M if dry > gap else left
        taken = min(left, out[i])
        out[i] -= taken
        left -= taken
        dry = i
    return out


def test_the_auger_hole() -> None:
    soil = demo().survey.soil
    assert soil.conductivity_used_m_s == pytest.approx(conductivity(), rel=1e-4)
    assert soil.best_m_s == pytest.approx(rate(), rel=1e-4)


def test_the_well() -> None:
    """What it holds, what soaks away from it full, how long it takes to empty, by the soil and by the office."""
    well, pit = demo().behaviour.wells[0], Pit()
    assert well.storage_m3 == pytest.approx(pit.holds, rel=1e-6)
    assert well.soakage_full_m3_s == pytest.approx(float(pit.by_conductivity()[-1]), rel=2e-3)
    assert well.drain_time_s == pytest.approx(pit.empties_in(pit.by_conductivity()), rel=5e-3)
    assert well.by_office is not None
    assert well.by_office.drain_time_s == pytest.approx(pit.empties_in(pit.by_the_office()), rel=5e-3)


def test_the_hardest_design_storm() -> None:
    """Every duration of the table: the share of the room that the hardest needs, by the soil and by the office."""
    well, pit = demo().behaviour.wells[0], Pit()
    for soaks, storms in ((pit.by_conductivity(), well.storms), (pit.by_the_office(), well.by_office.storms)):
        by_hand = max(pit.fill(storm(m) * ROOF_M2 / 300, 300.0, soaks, 6)[0] for m in MINUTES) / pit.holds
        assert max(one.peak_m3 for one in storms) / well.storage_m3 == pytest.approx(by_hand, rel=5e-3)


def test_the_long_record() -> None:
    """Hour by hour through 31 years at North Little Rock: as many spills, as much water."""
    record, pit = demo().behaviour.record, Pit()
    assert record is not None
    with np.load(Path(tables.__file__).parent / "rain" / "north-little-rock-ar.npz") as kept:
        steps, hundredths = kept["wet_step"], kept["wet_hundredths"]
    rain = np.zeros(int(steps.max()) + 200)
    rain[steps] = hundredths * 0.01 * IN
    _, spilled = pit.fill(wetted(rain, gap=6) * ROOF_M2 / 3600, 3600.0, pit.by_conductivity(), 4)
    wet = np.flatnonzero(rain)
    event = np.cumsum(np.diff(wet, prepend=-(10**9)) > 6)
    own = event[np.searchsorted(wet, np.flatnonzero(spilled > 1e-9), side="right") - 1]
    assert record.spill_events == len(set(own)) == 9
    assert record.spilled_m3_year * record.years == pytest.approx(float(spilled.sum()), rel=1e-2)


def test_the_grate_when_the_well_is_shut() -> None:
    """98 gpm over half the edge of B1's grate, the weir of the federal inlet circular, 1.66 L h^1.5: how high it stands."""
    case = next(one for one in demo().behaviour.what_if.cases if one.kind == "inlet plugged")
    basin = demo().scheme.basins[0]
    comes = ROOF_M2 * 6.82 * IN / 3600
    edge = math.pi * basin.width_m if basin.shape == "round" else 4 * basin.width_m
    head = (comes / (1.66 * edge / 2)) ** (2 / 3)
    assert dict(case.grates)[basin.id] == pytest.approx(basin.grate_m + head, abs=3e-3)
