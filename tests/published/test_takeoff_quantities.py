"""The take-off against the materials sheet and the trade's own example job.

Row names (G12, E05) and section numbers are those of the house's reference sheet of materials, where the
publication behind each figure stands. Figures were typed from there before the code was run.
"""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from roofwell import tables
from roofwell.physics.trench.excavation import weight_kg
from roofwell.system.dug_by import trench_width_m, usual
from roofwell.system.scheme import Downspout, Outlet, Run, Scheme, Well
from roofwell.takeoff import take_off
from roofwell.takeoff.geotextile import lining
from roofwell.takeoff.stone import (
    dry_density_kg_m3,
    porosity_of_void_ratio,
    stones,
    surround_m3,
    void_ratio_of_porosity,
)

FOOT, INCH = 0.3048, 0.0254
CUBIC_FOOT, CUBIC_YARD = FOOT**3, (3 * FOOT) ** 3
POUND = 0.45359237
TON = 2000 * POUND
LB_CUBIC_FOOT = POUND / CUBIC_FOOT
TON_CUBIC_YARD = TON / CUBIC_YARD


def well(**more: Any) -> Well:
    """A pit of ``size`` (length, width, feet), ``high`` feet of stone; no bodies unless given."""
    length, width = more.get("size", (4.0, 4.0))
    high, body = more.get("high", 5.0), more.get("body_in", (18, 48))
    return Well(
        id="W1",
        at=(0.0, 0.0),
        ground_m=more.get("deep", high) * FOOT,
        bodies=more.get("bodies", 0),
        body_diameter_m=body[0] * INCH,
        body_height_m=body[1] * INCH,
        body_spacing_m=1.0,
        hole_diameter_m=0.5 * INCH,
        direction_rad=0.0,
        pit_shape=more.get("shape", "round"),
        pit_length_m=length * FOOT,
        pit_width_m=width * FOOT,
        bottom_m=0.0,
        stone_below_m=0.0,
        stone_above_m=0.0,
        stone_top_m=high * FOOT,
        inlet_invert_m=high * FOOT,
        lip_m=high * FOOT,
        stone="57",
        voids=0.4,
        geotextile=more.get("faces", ("sides", "top", "bottom")),
        soakage="bottom",
        layers=(),
    )


def scheme(**parts: Any) -> Scheme:
    names = ("downspouts", "wyes", "basins", "wells", "overflows", "outlets", "runs")
    return Scheme(**{n: tuple(parts.get(n, ())) for n in names}, undrained_area_m2=0.0, broken=(), origin={})


def survey(**settings: float) -> Any:
    kept = {
        name: tables.assumption(name.replace("_", "-")).value_si
        for name in ("waste", "swell", "lap", "stone_density")
    }
    return SimpleNamespace(style="us", settings=usual("us") | kept | settings)


def trench_scheme(*, depth_in: float, length_ft: float) -> Scheme:
    """One run of 4-in SDR 35; its trench is ``depth_in`` deep with 3 in of bedding."""
    outside, inside, bedding = 4.215 * INCH, 3.975 * INCH, 3 * INCH
    invert = 10.0
    ground = invert - (outside - inside) / 2 - bedding + depth_in * INCH
    long = length_ft * FOOT
    spout = Downspout("D1", (0, 0), ground, ground, 50.0, ("R1",), None, "round", 0.1, 0.1)
    path, size = ((0, 0), (long, 0)), (4 * INCH, inside, outside)
    line = ((0.0, long), (ground, ground), (0.3, 0.3))
    run = Run("P1", "D1", "E1", path, long, "sdr-35", *size, 0.01, invert, invert, (), *line, (), invert)
    return scheme(
        downspouts=[spout], outlets=[Outlet("E1", "daylight", (long, 0), ground, invert, None)], runs=[run]
    )


def item(out: Any, key: str) -> Any:
    return next(i for i in out.items if i.key == key)


def test_g01_porosity_from_void_ratio() -> None:
    assert porosity_of_void_ratio(0.40) == pytest.approx(0.2857, abs=1e-4)


def test_g02_void_ratio_from_porosity() -> None:
    assert void_ratio_of_porosity(0.40) == pytest.approx(0.6667, abs=1e-4)


# 2.2, first line
@pytest.mark.parametrize(
    ("n", "e"), [(0.30, 0.429), (0.32, 0.471), (0.35, 0.538), (0.40, 0.667), (0.44, 0.786)]
)
def test_porosity_and_void_ratio_table(n: float, e: float) -> None:
    assert void_ratio_of_porosity(n) == pytest.approx(e, abs=6e-4)
    assert porosity_of_void_ratio(e) == pytest.approx(n, abs=6e-4)


# 2.3 (G03 is the row 0.40): porosity, lb/cu ft and ton/cu yd at 2.65, ton/cu yd at 2.70
@pytest.mark.parametrize(
    ("n", "pounds", "tons", "tons_270"),
    [
        (0.30, 115.8, 1.563, 1.592),
        (0.35, 107.5, 1.451, 1.478),
        (0.40, 99.2, 1.339, 1.365),
        (0.44, 92.6, 1.250, 1.274),
    ],
)
def test_g03_stone_weight(n: float, pounds: float, tons: float, tons_270: float) -> None:
    dry = dry_density_kg_m3(porosity=n, specific_gravity=2.65)
    assert dry / LB_CUBIC_FOOT == pytest.approx(pounds, rel=0.002)
    assert dry / TON_CUBIC_YARD == pytest.approx(tons, rel=0.002)
    heavy = dry_density_kg_m3(porosity=n, specific_gravity=2.70)
    assert heavy / TON_CUBIC_YARD == pytest.approx(tons_270, rel=0.002)


def test_g04_agency_weight_means_a_porosity_of_0_418() -> None:
    """2600 lb/cu yd loose dry (waste agency) is stone of specific gravity 2.65 at n 0.418."""
    dry = dry_density_kg_m3(porosity=0.418, specific_gravity=2.65)
    assert dry * CUBIC_YARD / POUND == pytest.approx(2600, rel=0.005)
    assert dry / TON_CUBIC_YARD == pytest.approx(1.30, rel=0.005)


# 2.1, derived table (G06 is the row 8): share passing -> mm; D15 and D85 also stand in our table
MID_BAND = {
    "3": (25.6, 26.8, 36.7, 39.5, 46.7),
    "4": (19.4, 20.4, 27.3, 29.3, 35.0),
    "5": (13.3, 14.2, 20.2, 21.2, 23.8),
    "57": (5.40, 6.15, 13.7, 15.6, 21.4),
    "67": (5.28, 5.88, 11.0, 12.5, 16.8),
    "8": (2.98, 3.76, 6.33, 6.96, 8.84),
}


@pytest.mark.parametrize("key", MID_BAND)
def test_g06_mid_band_sizes(key: str) -> None:
    stone = stones()[key]
    middle = sorted(((low + high) / 2, math.log(size)) for size, low, high in stone.bands)
    for share, size_mm in zip((0.10, 0.15, 0.50, 0.60, 0.85), MID_BAND[key], strict=True):
        between = np.interp(share, [low for low, _ in middle], [size for _, size in middle])
        assert math.exp(between) * 1000 == pytest.approx(size_mm, rel=0.02)
    assert stone.d15_m * 1000 == pytest.approx(MID_BAND[key][1], rel=1e-3)
    assert stone.d85_m * 1000 == pytest.approx(MID_BAND[key][4], rel=1e-3)


# 2.4: D85 over hole, holes of 3/16, 1/2, 5/8 in and a slot of 1/8 in (G07: 57 on 5/8, 8 on 1/2)
@pytest.mark.parametrize(
    ("key", "ratios"),
    [
        ("3", (9.8, 3.7, 2.9, 14.7)),
        ("4", (7.3, 2.75, 2.2, 11.0)),
        ("57", (4.5, 1.68, 1.35, 6.7)),
        ("67", (3.5, 1.33, 1.06, 5.3)),
        ("8", (1.86, 0.70, 0.56, 2.8)),
    ],
)
def test_g07_stone_over_holes(key: str, ratios: tuple[float, ...]) -> None:
    for hole_in, ratio in zip((3 / 16, 1 / 2, 5 / 8, 1 / 8), ratios, strict=True):
        assert stones()[key].d85_m / (hole_in * INCH) == pytest.approx(ratio, rel=0.02)


def test_gradation_bands_as_printed() -> None:
    """Sums of all printed band ends per stone (2.1), so that one slipped digit cannot pass."""
    printed = {"3": 515, "4": 485, "5": 480, "57": 495, "6": 485, "67": 480, "7": 520, "8": 440}
    for key, total in printed.items():
        found = sum(low + high for _, low, high in stones()[key].bands) * 100
        assert found == pytest.approx(total)


# 2.6: D, H (ft), net, gross with 12-in laps, gross without the bottom (sq ft); G12 and G13 are the row 4 x 5
@pytest.mark.parametrize(
    ("diameter", "height", "net", "gross", "no_bottom"),
    [(3, 4, 51.84, 91.70, 66.7), (4, 5, 87.96, 139.83, 103.8), (5, 6, 133.52, 198.25, 149.3)],
)
def test_g12_g13_lining_a_round_pit(
    diameter: float, height: float, net: float, gross: float, no_bottom: float
) -> None:
    pit = well(size=(diameter, diameter), high=height)
    area = lining(pit, 1 * FOOT)
    assert area.net_m2 / FOOT**2 == pytest.approx(net, rel=0.001)
    assert area.gross_m2 / FOOT**2 == pytest.approx(gross, rel=0.002)
    open_below = well(size=(diameter, diameter), high=height, faces=("sides", "top"))
    assert lining(open_below, 1 * FOOT).gross_m2 / FOOT**2 == pytest.approx(no_bottom, rel=0.002)


def test_g13_in_the_order() -> None:
    """15.5 sq yd with laps; the order is whole square yards."""
    out = take_off(scheme(wells=[well()]), survey(), None)
    assert out.geotextile_m2 / (3 * FOOT) ** 2 == pytest.approx(15.5, rel=0.003)
    assert item(out, "geotextile").quantity == 16
    assert item(out, "geotextile").unit == "sq yd"


# 2.3 second table: D, H (ft), cu ft, cu yd, void cu ft at 0.40, tons at 1.34 (G14 is the row 4 x 5)
@pytest.mark.parametrize(
    ("diameter", "height", "volume", "yards", "voids", "tons"),
    [
        (2, 4, 12.57, 0.465, 5.03, 0.62),
        (3, 4, 28.27, 1.047, 11.31, 1.40),
        (4, 5, 62.83, 2.327, 25.13, 3.12),
        (5, 6, 117.8, 4.363, 47.12, 5.85),
    ],
)
def test_g14_stone_of_a_pit(
    diameter: float, height: float, volume: float, yards: float, voids: float, tons: float
) -> None:
    out = take_off(
        scheme(wells=[well(size=(diameter, diameter), high=height)]),
        survey(stone_density=1.34 * TON_CUBIC_YARD),
        None,
    )
    assert out.stone_m3 / CUBIC_FOOT == pytest.approx(volume, rel=0.001)
    assert out.stone_m3 / CUBIC_YARD == pytest.approx(yards, rel=0.001)
    assert 0.40 * out.stone_m3 / CUBIC_FOOT == pytest.approx(voids, rel=0.001)
    assert out.stone_kg / TON == pytest.approx(tons, rel=0.006)


def test_g14_ton_range() -> None:
    """3.03 ton at the agency's 1.30 ton/cu yd."""
    out = take_off(scheme(wells=[well()]), survey(stone_density=1.30 * TON_CUBIC_YARD), None)
    assert out.stone_kg / TON == pytest.approx(3.03, rel=0.005)


def test_g15_published_trench_example() -> None:
    """Pennsylvania borough ordinance: 140 cu ft of water, 350 cu ft of stone, 117 sq ft, 19.46 ft long."""
    pit = well(shape="rectangular", size=(19.46, 6.0), high=3.0)
    out = take_off(scheme(wells=[pit]), survey(), None)
    assert out.stone_m3 / CUBIC_FOOT == pytest.approx(350.2, rel=0.001)
    assert 0.4 * out.stone_m3 / CUBIC_FOOT == pytest.approx(140.08, rel=0.001)
    assert item(out, "lawn").quantity == math.ceil(116.7 / 9)


def test_e01_pit_volume() -> None:
    out = take_off(scheme(wells=[well()]), survey(), None)
    assert out.excavation_m3 / CUBIC_FOOT == pytest.approx(62.83, rel=0.001)
    assert out.excavation_m3 / CUBIC_YARD == pytest.approx(2.327, rel=0.001)


# E02 and 4.2: swell, loose cu yd of the 4 x 5 pit
@pytest.mark.parametrize(("swell", "loose"), [(0.12, 2.61), (0.25, 2.909), (0.40, 3.26), (0.65, 3.84)])
def test_e02_loose_volume(swell: float, loose: float) -> None:
    out = take_off(scheme(wells=[well()]), survey(swell=swell), None)
    assert out.spoil_m3 / CUBIC_YARD == pytest.approx(loose, rel=0.002)


def test_e02_is_the_default_swell() -> None:
    out = take_off(scheme(wells=[well()]), survey(), None)
    assert out.spoil_m3 / CUBIC_YARD == pytest.approx(2.909, rel=0.001)


@pytest.mark.parametrize(("swell", "factor"), [(0.12, 0.893), (0.25, 0.800), (0.40, 0.714)])
def test_e03_load_factor(swell: float, factor: float) -> None:
    out = take_off(scheme(wells=[well()]), survey(swell=swell), None)
    assert out.excavation_m3 / out.spoil_m3 == pytest.approx(factor, abs=0.001)


@pytest.mark.parametrize(("pounds_per_yard", "tons"), [(2100, 3.05), (3000, 4.36)])
def test_e04_spoil_weight(pounds_per_yard: float, tons: float) -> None:
    out = take_off(scheme(wells=[well()]), survey(), None)
    kg = weight_kg(volume_m3=out.spoil_m3, density_kg_m3=pounds_per_yard * POUND / CUBIC_YARD)
    assert kg / TON == pytest.approx(tons, rel=0.005)


def test_e05_trench_volume() -> None:
    """8 in x 24 in x 40 ft: 53.33 cu ft, 1.975 cu yd in the bank, 2.469 loose."""
    out = take_off(trench_scheme(depth_in=24, length_ft=40), survey(trench_width=8 * INCH), None)
    assert out.excavation_m3 / CUBIC_FOOT == pytest.approx(53.33, rel=0.001)
    assert out.excavation_m3 / CUBIC_YARD == pytest.approx(1.975, rel=0.001)
    assert out.spoil_m3 / CUBIC_YARD == pytest.approx(2.469, rel=0.001)


# 4.2: width in inches (None: D2321's least for 4-in pipe, 20.2 in), cu yd of 40 ft, 24 in deep
@pytest.mark.parametrize(("width", "yards"), [(6, 1.481), (8, 1.975), (12, 2.963), (None, 4.991)])
def test_trench_widths(width: float | None, yards: float) -> None:
    own = {} if width is None else {"trench_width": width * INCH}
    out = take_off(trench_scheme(depth_in=24, length_ft=40), survey(**own), None)
    assert out.excavation_m3 / CUBIC_YARD == pytest.approx(yards, rel=0.002)


@pytest.mark.parametrize(("outside", "width"), [(4.215, 20.2), (6.275, 22.3)])
def test_p06_least_trench_width(outside: float, width: float) -> None:
    assert trench_width_m(outside * INCH, usual("us")) / INCH == pytest.approx(width, abs=0.1)


def test_e06_digging_a_pit_by_hand() -> None:
    """4.14 person-hours for the 4 x 5 pit in firm soil at 0.43 m3/h; ordered in tenths of an hour."""
    out = take_off(scheme(wells=[well()]), survey(), None, by_hand=True)
    hours = next(
        i.quantity for i in out.items if i.group == "hours" and i.what.startswith("dig a pit by hand")
    )
    assert 4.14 * 0.99 <= hours <= 4.14 + 0.1


def test_e07_digging_a_trench_by_hand() -> None:
    """2.65 person-hours for the trench of E05 in firm soil at 0.57 m3/h."""
    out = take_off(
        trench_scheme(depth_in=24, length_ft=40), survey(trench_width=8 * INCH), None, by_hand=True
    )
    hours = next(i.quantity for i in out.items if i.what.startswith("dig a trench by hand"))
    assert 2.65 * 0.99 <= hours <= 2.65 + 0.1


def test_work_rates_as_published() -> None:
    """4.4, firm soil: trench 0.57, pit 0.43; barrow 10 to 20 m 3.23 m3/h."""
    rates = {row["key"]: float(row["rate_per_hour"]) for row in tables.rows("work_rates")}
    assert (rates["dig-trench-hand"], rates["dig-pit-hand"], rates["move-spoil"]) == (0.57, 0.43, 3.23)


def test_body_in_a_wider_hole() -> None:
    """18 x 48 in body in a 36-in hole, stone as high as the body: 21.2 cu ft (common practice, no source)."""
    pit = well(size=(3, 3), high=4, bodies=1, body_in=(18, 48))
    assert surround_m3(pit) / CUBIC_FOOT == pytest.approx(21.2, abs=0.05)


def test_example_well_of_the_trade() -> None:
    """6 x 10 ft, 4 ft of stone in a 5-ft hole: 8.9 cu yd, 12.0 ton at 1.35; spoil 11.1, loose 14.4 at 30 %.

    Trade sheet section 5 and row 69 of its section 7.6 (own arithmetic there).
    """
    pit = well(shape="rectangular", size=(10, 6), high=4, deep=5)
    out = take_off(scheme(wells=[pit]), survey(swell=0.30, waste=0.0), None)
    assert out.stone_m3 / CUBIC_YARD == pytest.approx(8.9, abs=0.05)
    assert out.stone_kg / TON == pytest.approx(12.0, abs=0.05)
    assert item(out, "stone:57").quantity == 12.0
    assert out.excavation_m3 / CUBIC_YARD == pytest.approx(11.1, abs=0.05)
    assert out.spoil_m3 / CUBIC_YARD == pytest.approx(14.4, abs=0.05)
