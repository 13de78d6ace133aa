"""An invented house with two downspouts, a wye, a basin and a dry well, as a finished Design for the papers.

Every number here is made up so that papers can be looked at and measured; nothing checks a design with it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from roofwell.checks.finding import QUESTIONS, Answer, Finding, Measurement
from roofwell.design.result import Candidate, Design
from roofwell.job.model import About, Frame, Job
from roofwell.physics.ground.surface import make_surface
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.system.behaviour import (
    BasinBehaviour,
    Behaviour,
    DownspoutFlow,
    RunFlow,
    StandingWater,
    StormResult,
    WaterLevel,
    WellBehaviour,
)
from roofwell.system.dug_by import usual
from roofwell.system.facts import (
    AssumedValue,
    BuildingFact,
    FeatureFact,
    RainFacts,
    RoofFact,
    ShotFact,
    Soil,
    SoilTest,
    Survey,
    Targets,
)
from roofwell.system.scheme import (
    Basin,
    CrossedThing,
    Downspout,
    Gutter,
    Outlet,
    Overflow,
    PipeFitting,
    Run,
    Scheme,
    Well,
    Wye,
)
from roofwell.takeoff.quantities import Item, Takeoff
from roofwell.units import Dimension, parse

FT = 0.3048
IN = 0.0254
NAN = math.nan


def ft(*points: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    return tuple((x * FT, y * FT) for x, y in points)


HOUSE_FT = ((10, 25), (50, 25), (50, 50), (10, 50))
LOT_FT = ((0, 0), (84, 0), (84, 60), (0, 60))


def survey(style: str = "us", *, ground_known: bool = True) -> Survey:
    shots = [
        ("front", 20, 55, 99.1),
        ("a", 6, 22, 98.82),
        ("b", 53, 23, 98.35),
        ("c", 70, 10, 98.15),
        ("d", 80, 4, 97.7),
    ]
    return Survey(
        style=style,  # type: ignore[arg-type]
        soil=Soil(
            low_m_s=0.6 * IN / 3600,
            best_m_s=1.0 * IN / 3600,
            high_m_s=1.4 * IN / 3600,
            known=True,
            basis="three auger tests",
            safety_factor=2.0,
            tests=(SoilTest("T1", "auger", 1.0 * IN / 3600, None, "", ()),),
            high_water_m=90.6 * FT,
            high_water_basis="mottling",
            frost_depth_m=None,
        ),
        rain=RainFacts(
            table=FrequencyTable(
                duration_s=np.array([300.0, 3600.0]),
                return_period_years=np.array([2.0, 10.0]),
                depth_m=np.array([[0.011, 0.0144], [0.04, 0.055]]),
                series="partial duration",
            ),
            table_name="invented table",
            table_source="invented",
            table_of_this_place=True,
            table_distance_m=None,
            record=None,
            record_name=None,
            record_source=None,
            record_of_this_place=False,
            record_distance_m=None,
            notes=(),
        ),
        rules=None,
        ground=make_surface(
            points=ft(*((x, y) for _, x, y, _ in shots)), elevations=[z * FT for *_, z in shots]
        ),
        ground_known=ground_known,
        shots=tuple(ShotFact(id, (x * FT, y * FT), z * FT, True) for id, x, y, z in shots)
        if ground_known
        else (),
        level_book=None,
        buildings=(BuildingFact("H1", ft(*HOUSE_FT), 99.35 * FT, "crawl-space vent", 96.0 * FT, False),),
        neighbors=(
            FeatureFact(
                "N1",
                "neighbor's building",
                None,
                "outline",
                ft((62, 62), (80, 62), (80, 70), (62, 70)),
                None,
                None,
                None,
                None,
                None,
                None,
            ),
        ),
        features=(
            FeatureFact("lot", "lot line", None, "outline", ft(*LOT_FT), None, None, None, None, None, None),
            FeatureFact(
                "walk",
                "walk",
                None,
                "outline",
                ft((54, 30), (58, 30), (58, 60), (54, 60)),
                None,
                None,
                None,
                None,
                None,
                None,
            ),
            FeatureFact(
                "E1",
                "utility",
                "electric",
                "path",
                ft((50, 32), (60, 32), (60, 2)),
                None,
                None,
                None,
                None,
                None,
                None,
            ),
            FeatureFact(
                "gas",
                "utility",
                "gas",
                "path",
                ft((10, 45), (0, 45)),
                None,
                96.5 * FT,
                None,
                None,
                None,
                None,
            ),
            FeatureFact("oak", "tree", None, "point", ft((76, 40)), None, None, None, None, None, None),
        ),
        roofs=(
            RoofFact("R1", ft((9, 24), (51, 24), (51, 37.5), (9, 37.5)), 52.7, 52.7, "G1"),
            RoofFact("R2", ft((9, 37.5), (51, 37.5), (51, 51), (9, 51)), 52.7, 52.7, "G2"),
        ),
        targets=Targets(10.0, "job", 48 * 3600.0, "assumed", None, None, None),
        utilities_located=None,
        utilities_note="not located yet",
        missing=frozenset({"utilities.depth"}),
        assumed=assumed(),
        settings=usual(style),  # type: ignore[arg-type]
        storm_shape="alternating blocks",
    )


def assumed() -> tuple[AssumedValue, ...]:
    return (
        AssumedValue(
            "W1.voids",
            "40 %",
            "voids of the washed stone",
            "fill a bucket of known volume with stone, then with water",
            "common-practice",
        ),
        AssumedValue(
            "P1.manning_n", "0.010", "roughness of smooth pipe", "read the maker's sheet", "from-memory"
        ),
        AssumedValue(
            "settings.waste",
            "10 %",
            "waste of pipe and geotextile",
            "count what is left over after a job",
            "common-practice",
        ),
    )


def gutter(id: str) -> Gutter:
    return Gutter(id, "ogee", 5 * IN, 3 * IN, 3.5 * IN, 42 * FT, 1 / 192, True, 0.2)


def run(
    id: str, a: str, b: str, path: Any, length_ft: float, up: float, down: float, ground: Any, **more: Any
) -> Run:
    count = len(ground)
    return Run(
        id=id,
        from_id=a,
        to_id=b,
        path=path,
        length_m=length_ft * FT,
        pipe="smooth-4",
        nominal_m=4 * IN,
        inside_diameter_m=3.975 * IN,
        outside_diameter_m=4.215 * IN,
        manning_n=0.010,
        upstream_invert_m=up * FT,
        downstream_invert_m=down * FT,
        fittings=more.get("fittings", ()),
        stations_m=tuple(length_ft * FT * n / (count - 1) for n in range(count)),
        ground_m=tuple(z * FT for z in ground),
        cover_least_m=(12 * IN,) * count,
        crossings=more.get("crossings", ()),
        upstream_inlet_m=up * FT,
    )


def scheme() -> Scheme:
    runs = (
        run(
            "P1",
            "D1",
            "Y1",
            ft((10, 24), (10, 21), (50, 21)),
            43,
            97.30,
            96.87,
            (98.8, 98.6, 98.42),
            fittings=(
                PipeFitting("elbow", 3 * FT, math.pi / 2, "90° elbow"),
                PipeFitting("cleanout", 20 * FT, 0.0, "cleanout"),
            ),
        ),
        run("P2", "D2", "Y1", ft((50, 24), (50, 21)), 3, 96.95, 96.87, (98.45, 98.42)),
        run("P3", "Y1", "B1", ft((50, 21), (54, 19)), 4.5, 96.87, 96.83, (98.42, 98.40)),
        run(
            "P4",
            "B1",
            "W1",
            ft((54, 19), (67, 12.5)),
            14.5,
            96.73,
            96.58,
            (98.40, 98.3, 98.2),
            crossings=(CrossedThing("E1", "electric", 6.7 * FT, None, None, None, None),),
        ),
    )
    return Scheme(
        downspouts=(
            Downspout(
                "D1",
                (10 * FT, 24 * FT),
                98.8 * FT,
                98.2 * FT,
                52.7,
                ("R1",),
                gutter("G1"),
                "rectangular",
                2 * IN,
                3 * IN,
            ),
            Downspout(
                "D2",
                (50 * FT, 24 * FT),
                98.45 * FT,
                98.1 * FT,
                52.7,
                ("R2",),
                gutter("G2"),
                "rectangular",
                2 * IN,
                3 * IN,
            ),
        ),
        wyes=(Wye("Y1", (50 * FT, 21 * FT), 98.42 * FT, 96.87 * FT),),
        basins=(
            Basin(
                "B1",
                (54 * FT, 19 * FT),
                98.40 * FT,
                "round",
                24 * IN,
                0.29,
                95.5 * FT,
                98.40 * FT,
                96.83 * FT,
                96.73 * FT,
                True,
                True,
                0,
                0.0,
            ),
        ),
        wells=(
            Well(
                id="W1",
                at=(67 * FT, 12.5 * FT),
                ground_m=98.2 * FT,
                bodies=2,
                body_diameter_m=30 * IN,
                body_height_m=3 * FT,
                body_spacing_m=4 * FT,
                hole_diameter_m=0.0,
                direction_rad=math.atan2(-6.5, 13),
                pit_shape="rectangular",
                pit_length_m=11 * FT,
                pit_width_m=6 * FT,
                bottom_m=93.5 * FT,
                stone_below_m=6 * IN,
                stone_above_m=4 * IN,
                stone_top_m=97.33 * FT,
                inlet_invert_m=96.58 * FT,
                lip_m=98.05 * FT,
                stone="washed, 3/4 to 1 1/2 in",
                voids=0.4,
                geotextile=("sides", "top"),
                soakage="bottom",
                layers=(),
            ),
        ),
        overflows=(
            Overflow(
                "V1",
                "W1",
                "grate",
                (67 * FT, 12.5 * FT),
                98.05 * FT,
                12 * IN,
                0.5,
                None,
                "the low lawn",
                12 * FT,
            ),
        ),
        outlets=(),
        runs=runs,
        undrained_area_m2=0.0,
        broken=(),
        origin={
            "D1.at": "given",
            "D2.at": "given",
            "W1.at": "given",
            "P1.inside_diameter_m": "designed",
            "P4.inside_diameter_m": "given",
            "W1.voids": "assumed",
            "P1.manning_n": "assumed",
            "E1.top_m": "missing",
        },
    )


def behaviour() -> Behaviour:
    def flow(id: str, q: float, up: float, down: float) -> RunFlow:
        return RunFlow(id, q, 0.004, 0.9, 0.8, None, up * FT, down * FT, True)

    storm = StormResult(
        10.0, 6 * 3600.0, "alternating blocks", 0.084, 8.4, 6.3, 1.4, 0.0, 4 * 3600.0, 36 * 3600.0, 1.3, 4e-5
    )
    return Behaviour(
        10.0,
        4.8e-5,
        300.0,
        0.0048,
        (
            DownspoutFlow("D1", 52.7, 0.0024, 0.004, 0.003, 0.005, "outlet", 0.003),
            DownspoutFlow("D2", 52.7, 0.0024, 0.004, None, None, None, 0.004),
        ),
        (
            flow("P1", 0.0024, 98.46, 98.38),
            flow("P2", 0.0024, 98.39, 98.38),
            flow("P3", 0.0048, 98.38, 98.36),
            flow("P4", 0.0048, 98.33, 98.20),
        ),
        (
            WaterLevel("D1", "downspout joint", 98.05 * FT, 98.46 * FT, 98.2 * FT),
            WaterLevel("B1", "basin grate", 98.05 * FT, 98.36 * FT, 98.40 * FT),
        ),
        (StandingWater("B1", "P3", 0.0, 1.0, 0.01, 0.0),),
        (
            WellBehaviour(
                "W1",
                105.4,
                6.3,
                0.06,
                4e-5,
                36 * 3600.0,
                (storm,),
                storm,
                None,
                None,
                None,
                1200.0,
                np.arange(4.0),
                np.arange(4.0),
                np.arange(4.0),
                0.03,
                0.0047,
                0.05,
            ),
        ),
        (BasinBehaviour("B1", (1e-5,), (1e-3,), (1e-4,), 4 * IN, 1.23 * FT),),
    )


def takeoff() -> Takeoff:
    items = (
        Item(
            "pipe-4",
            "pipe",
            "4 in solid pipe, 10 ft sticks",
            7.0,
            "stick",
            "P1, P2, P3, P4",
            "with 10 % waste",
            24.0,
            168.0,
        ),
        Item("elbow-90-4", "fittings", "4 in elbow, 90 degrees", 2.0, "each", "P1 at 0+03", "", 9.5, 19.0),
        Item(
            "basin-24",
            "basin",
            "24 in basin with grate, hood and screen",
            1.0,
            "each",
            "B1",
            "",
            285.0,
            285.0,
        ),
        Item("body-30", "well", "30 in well body, 36 in high", 2.0, "each", "W1", "", 560.0, 1120.0),
        Item(
            "stone",
            "stone",
            "washed stone, 3/4 to 1 1/2 in",
            12.5,
            "ton",
            "W1",
            "40 % voids assumed",
            46.0,
            575.0,
        ),
        Item(
            "geotextile", "geotextile", "nonwoven geotextile", 34.0, "sq yd", "W1", "laps 12 in", None, None
        ),
        Item("crew", "hours", "crew hours", 60.0, "h", "whole job", "", 58.0, 3480.0),
    )
    return Takeoff(
        items, 7.1, 11300.0, 16.5, 20.4, 28.4, 60.0, None, ("geotextile",), "USD", "prices-2026.toml", True
    )


def finding(question: int, verdict: str, **more: Any) -> Finding:
    base: dict[str, Any] = {
        "code": f"check-{question}",
        "question": question,
        "subject": "P1",
        "verdict": verdict,
        "value": 1.0,
        "low": None,
        "high": None,
        "op": "at least",
        "limit": 0.8,
        "spare": 0.2,
        "value_text": "12.2 in",
        "limit_text": "at least 12 in",
        "spare_text": "0.2 in to spare",
        "sentence": "The pipe lies deep enough under the lawn at D1.",
        "source": "common-practice",
    }
    return Finding(**{**base, **more})


def answers(worst: str = "unknown") -> tuple[Answer, ...]:
    plain: dict[int, tuple[str, dict[str, Any]]] = {
        1: (
            "good",
            {
                "value_text": "76 gpm",
                "limit_text": "all of the roof drained",
                "spare_text": "",
                "spare": 0.8,
                "subject": "R1",
            },
        ),
        2: ("close", {"spare": 0.01}),
        3: (
            "good",
            {
                "value_text": "0.5 in under the grate",
                "limit_text": "under the grate",
                "spare_text": "0.5 in to spare",
                "sentence": "In the 10-year cloudburst the water stays under the grate of the basin.",
            },
        ),
        4: (
            "good",
            {
                "value_text": "every 15 months",
                "limit_text": "at least 6 months",
                "spare_text": "9 months to spare",
            },
        ),
        5: (
            "good",
            {
                "value_text": "36 h",
                "limit_text": "at most 48 h",
                "spare_text": "12 h to spare",
                "sentence": "The 10-year storm is held, and the well is empty again after a day and a half.",
            },
        ),
        6: (
            "good",
            {"value_text": "12.0 ft", "limit_text": "inside the lot line", "spare_text": "12.0 ft to spare"},
        ),
        7: (
            worst,
            {
                "value_text": "depth of the electric line not known",
                "value": NAN,
                "limit_text": "at least 12 in apart",
                "spare_text": "",
                "spare": NAN,
                "subject": "P4",
                "missing": (
                    Measurement(
                        "features.E1.top", "depth of the electric line", "dig a test hole by hand at 0+56"
                    ),
                ),
                "sentence": "Nobody knows yet how deep the electric line to the shed lies.",
            },
        ),
    }
    out = []
    for number, title in QUESTIONS.items():
        if number in plain:
            verdict, more = plain[number]
            found = finding(number, verdict, **more)
            out.append(Answer(number, title, found.verdict, found, found.sentence, (found,)))
        else:
            words = (
                "No budget was given; the price waits for geotextile."
                if number == 8
                else "It is not built yet."
            )
            out.append(Answer(number, title, None, None, words, ()))
    return tuple(out)


def job(name: str = "Alder Lane bungalow", **more: Any) -> Job:
    about: dict[str, Any] = {
        "name": name,
        "customer": "The Example family",
        "address": "12 Alder Lane",
        "revision": "C",
        "date": date(2026, 5, 4),
        "units": "us",
        "invented": True,
        **more,
    }
    return Job(
        document=1,
        job=About(**about),
        frame=Frame(origin="south-west corner of the lot", north=parse("20 deg", Dimension.ANGLE)),
    )


def design(
    *, style: str = "us", waits: tuple[str, ...] = ("7: depth of the electric line at 0+56",), **more: Any
) -> Design:
    base = Design(
        job=more.pop("job", job(units=style)),
        survey=more.pop("survey", survey(style)),
        scheme=scheme(),
        behaviour=behaviour(),
        takeoff=takeoff(),
        answers=answers("unknown" if waits else "good"),
        scheme_large=None,
        behaviour_large=None,
        takeoff_large=None,
        open_sizes=None,
        candidates=(Candidate("one well body", 9.0, False, ("check-5",)),),
        assumed=assumed(),
        waits=waits,
        fingerprint="3f9a1c22d07be5514f1a",
    )
    return replace(base, **more)


def daylight(**more: Any) -> Design:
    """The same house, its water led to daylight at the low end of the lot."""
    base = scheme()
    out = Outlet("O1", "daylight", (82 * FT, 5 * FT), 96.6 * FT, 96.30 * FT, "the ditch along the lot line")
    last = run("P4", "B1", "O1", ft((54, 19), (82, 5)), 31.3, 96.73, 96.30, (98.4, 98.2, 97.6, 96.6))
    dry = replace(base, wells=(), overflows=(), outlets=(out,), runs=(*base.runs[:3], last))
    wet = replace(behaviour(), wells=(), standing=())
    return design(scheme=dry, behaviour=wet, **more)


def broken_levels() -> Design:
    """Nothing was leveled: the ground and most elevations are not known."""
    base = scheme()
    runs = tuple(replace(r, ground_m=(NAN,) * len(r.ground_m)) for r in base.runs)
    runs = (*runs[:3], replace(runs[3], upstream_invert_m=NAN, downstream_invert_m=NAN))
    part = replace(
        base,
        runs=runs,
        downspouts=tuple(replace(d, ground_m=NAN) for d in base.downspouts),
        wells=(
            replace(
                base.wells[0],
                ground_m=NAN,
                bottom_m=NAN,
                stone_top_m=NAN,
                lip_m=NAN,
                inlet_invert_m=NAN,
                voids=NAN,
            ),
        ),
        overflows=(replace(base.overflows[0], lip_m=NAN),),
        basins=(replace(base.basins[0], ground_m=NAN, grate_m=NAN, floor_m=NAN),),
    )
    water = behaviour()
    return design(
        survey=survey(ground_known=False),
        scheme=part,
        behaviour=replace(
            water, runs=tuple(replace(r, level_up_m=NAN, level_down_m=NAN) for r in water.runs), levels=()
        ),
        waits=("2: the ground was not leveled",),
    )


def many_spouts() -> Design:
    """Twelve downspouts around a large house, all led into one basin: a crowded sheet."""
    base = scheme()
    spouts, wyes, runs = [], [], []
    for n in range(12):
        x = 10 + 3.4 * n
        spouts.append(replace(base.downspouts[0], id=f"D{n + 1}", at=(x * FT, 24 * FT)))
        if n:
            wyes.append(Wye(f"Y{n}", (x * FT, 21 * FT), 98.4 * FT, (97.3 - 0.034 * n) * FT))
    path = [*(f"Y{n}" for n in range(1, 12)), "B1"]
    runs.append(run("P1", "D1", "Y1", ft((10, 24), (10, 21), (13.4, 21)), 6.4, 97.4, 97.27, (98.8, 98.8)))
    for n in range(1, 12):
        x = 10 + 3.4 * n
        runs.append(run(f"Q{n}", f"D{n + 1}", f"Y{n}", ft((x, 24), (x, 21)), 3, 97.4, 97.2, (98.7, 98.7)))
        after = (x + 3.4, 21) if n < 11 else (54, 19)
        up, down = 97.27 - 0.034 * (n - 1), 97.27 - 0.034 * n
        runs.append(run(f"P{n + 1}", f"Y{n}", path[n], ft((x, 21), after), 3.4, up, down, (98.6, 98.6)))
    runs.append(replace(base.runs[3], id="P13"))
    return design(scheme=replace(base, downspouts=tuple(spouts), wyes=tuple(wyes), runs=tuple(runs)))
