"""The first look at a house: what a few answers tell at once, before anything is designed.

Each figure comes from the same Survey that a design stands on; nothing here is a second way to reckon.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from roofwell import tables, units
from roofwell.checks.cause import OTHER_CAUSES, WHOM_TO_CALL
from roofwell.checks.register import never_overruled
from roofwell.design.first_places import LINE_POINT, ORIGIN, WELL_POINT, LeafEdit, Places, Unread, places
from roofwell.errors import InputError
from roofwell.job import model
from roofwell.job.reading import VERSION, Reading
from roofwell.job.write import document_text
from roofwell.physics.roof.catchment import rain_volume_m3, rational_flow_m3_s
from roofwell.system import roof_parts
from roofwell.system.facts import ShotFact, Survey
from roofwell.system.survey import survey as make_survey
from roofwell.units import Style

CAUSE_CHECK = "cause-of-water"
OPENING_POINT = "lowest opening of the house"
RAIN_STEP_M = {"us": 0.0254, "metric": 0.010}
RAIN_STEP = {"us": "an inch of rain", "metric": "10 mm of rain"}


@dataclass(frozen=True, slots=True)
class Stop:
    """Why no well is sized yet, whom to call, and whether a typed reason may set it aside."""

    when: str
    why: str
    call: str
    may_go_on: bool
    check: str


@dataclass(frozen=True, slots=True)
class RoofRow:
    """A downspout, or all of them together: its roof, the water of a step of rain, the flow in the cloudburst."""

    label: str
    area: str
    volume: str
    flow: str


@dataclass(frozen=True, slots=True)
class LevelRow:
    """A point of the level book: its elevation, and how far it lies under the benchmark."""

    point: str
    elevation: str
    below: str


@dataclass(frozen=True, slots=True)
class TestRow:
    """A soil test so far: what it gives, and what to know about it."""

    id: str
    rate: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Size:
    """A size that the trade sells: of a downspout (width and breadth) or a gutter (top width and depth)."""

    words: str
    shape: str
    sides: tuple[str, str]


@dataclass(frozen=True, slots=True)
class FirstLook:
    """What is told at once. ``edits``: leaves that follow from the answers; ``unread``: answers that cannot be used.

    ``rain_step`` names the step of rain of the volumes ("an inch of rain"); ``cloudburst`` the storm of the flows.
    ``fall`` is a sentence for each downspout, ``fall_whole`` the one from the highest to the lowest point. ``textures``,
    ``leaders``, ``gutters``: soils that have a name here, sizes of downspouts and gutters that are sold in the job's units.
    """

    stop: Stop | None
    rain_step: str
    roofs: tuple[RoofRow, ...]
    whole_roof: RoofRow | None
    cloudburst: str
    rain: str
    rain_of_this_place: bool
    levels: tuple[LevelRow, ...]
    fall_whole: str
    fall: tuple[str, ...]
    tests: tuple[TestRow, ...]
    textures: tuple[str, ...]
    leaders: tuple[Size, ...]
    gutters: tuple[Size, ...]
    edits: tuple[LeafEdit, ...]
    unread: tuple[Unread, ...]


@dataclass(frozen=True, slots=True)
class Answers:
    """What was asked for and is no leaf by itself: distances as typed, corners of downspouts, side of the well."""

    distances: Mapping[str, str] = field(default_factory=dict)
    corners: Mapping[str, str] = field(default_factory=dict)
    well_side: str = ""


def first_document(*, name: str, style: Style) -> str:
    """Return the text of a job of which nothing is known but its name and units.

    The benchmark counts as 100, as the trade does; the frame is that of ``first_places``.
    """
    unit = "ft" if style == "us" else "m"
    return document_text(
        {
            "document": VERSION,
            "job": {"name": name, "units": style},
            "frame": {"origin": ORIGIN},
            "survey": {"unit": unit, "benchmark": "BM", "benchmark_elevation": f"100 {unit}"},
        }
    )


def first_look(reading: Reading, answers: Answers) -> FirstLook:
    """Tell what a document tells before it is designed.

    Raises
    ------
    InputError
        ``document-unreadable`` if nothing of the document can be read; as ``system.survey`` for files it names.
    """
    from_words = _placed(reading, answers)
    job = reading.job
    if job is None:
        raise InputError(
            "nothing of the document can be read yet: see what there is to put right",
            code="document-unreadable",
        )
    survey = make_survey(job, folder=reading.folder)
    style = survey.style
    intensity = roof_parts.cloudburst_m_s(survey)
    lasts = units.show_time(roof_parts.cloudburst_duration_s(survey))
    rows, whole = _roofs(job, survey, intensity)
    whole_fall, falls = _falls(job, survey)
    return FirstLook(
        stop=stop(job),
        rain_step=RAIN_STEP[style],
        roofs=rows,
        whole_roof=whole,
        cloudburst=(
            f"the {survey.targets.storm_years:g}-year cloudburst: {units.show_rate(intensity, style)} for {lasts}"
        ),
        rain=_rain(survey, job.place.name if job.place else None),
        rain_of_this_place=survey.rain.table_of_this_place,
        levels=_levels(survey, style),
        fall_whole=whole_fall,
        fall=falls,
        tests=tuple(
            TestRow(test.id, units.show_rate(test.rate_m_s, style), test.remarks)
            for test in survey.soil.tests
        ),
        textures=tuple(row["texture"] for row in tables.rows("soil_texture")),
        leaders=_sizes("leader_sizes", ("width", "breadth"), style),
        gutters=_sizes("gutter_sizes", ("top_width", "depth"), style),
        edits=(*from_words.edits, *_opening(job, survey, style)),
        unread=from_words.unread,
    )


def _sizes(table: str, sides: tuple[str, str], style: Style) -> tuple[Size, ...]:
    """Sizes as the trade says them: a 2 by 3 in downspout, a 5 in ogee gutter."""
    out = []
    for row in tables.rows(table):
        if row["units"] != style:
            continue
        first, second = (row[side] for side in sides)
        if sides[0] == "top_width" or row["shape"] == "round":
            words = f"{first} {row['shape'].replace('-', ' ')}"
        else:
            words = f"{second.split(' ')[0]} by {first}"
        out.append(Size(words, row["shape"], (first, second)))
    return tuple(out)


def stop(job: model.Job) -> Stop | None:
    """Return why the water that stands is none that a roof drain takes; None where nothing says so."""
    when = job.complaint.water_stands
    if when is None or when not in OTHER_CAUSES:
        return None
    may = not never_overruled(CAUSE_CHECK)
    return Stop(when, OTHER_CAUSES[when], WHOM_TO_CALL[when], may, CAUSE_CHECK)


def _placed(reading: Reading, answers: Answers) -> Places:
    listed = reading.document.get("survey", {})
    entries = listed.get("readings", []) if isinstance(listed, dict) else []
    names = {
        index: entry["point"]
        for index, entry in enumerate(entries if isinstance(entries, list) else [])
        if isinstance(entry, dict)
        and isinstance(entry.get("point"), str)
        and entry.get("kind") != "backsight"
    }
    of_job = reading.document.get("job", {})
    metric = isinstance(of_job, dict) and of_job.get("units") == "metric"
    return places(
        answers.distances,
        corners=answers.corners,
        well_side=answers.well_side,
        readings=names,
        style="metric" if metric else "us",
    )


def _roofs(
    job: model.Job, survey: Survey, intensity_m_s: float
) -> tuple[tuple[RoofRow, ...], RoofRow | None]:
    """Rows of the downspouts whose gutter has a roof; two on one gutter stand in one row."""
    style = survey.style
    coefficient = survey.settings["runoff_coefficient"]

    def row(label: str, area_m2: float) -> RoofRow:
        volume = rain_volume_m3(area_m2=area_m2, depth_m=RAIN_STEP_M[style])
        flow = rational_flow_m3_s(
            area_m2=area_m2, intensity_m_s=intensity_m_s, runoff_coefficient=coefficient
        )
        return RoofRow(
            label,
            units.show_area(area_m2, style),
            units.show_volume(volume, style),
            units.show_flow(flow, style),
        )

    users: dict[str, list[str]] = {}
    for label, spout in job.downspouts.items():
        if spout.gutter is not None and spout.state != "abandoned":
            users.setdefault(spout.gutter, []).append(label)
    rows, total = [], 0.0
    for gutter, labels in users.items():
        area = sum(roof.counted_area_m2 for roof in survey.roofs if roof.gutter == gutter)
        if area > 0:
            rows.append(row(" and ".join(labels), area))
            total += area
    return tuple(rows), row("all", total) if total > 0 else None


def _rain(survey: Survey, house: str | None) -> str:
    rain = survey.rain
    if rain.table_of_this_place:
        return f"Rain of this place: {rain.table_name}."
    return (
        f"Rain of {rain.table_name} stands in; it is not of {house or 'this place'}: good enough for a draft, and for "
        "nothing that is dug. Three figures of the published table for the house's latitude and longitude, typed under "
        "Rain, take its place."
    )


def _levels(survey: Survey, style: Style) -> tuple[LevelRow, ...]:
    book = survey.level_book
    if book is None or not book.steps:
        return ()
    first = book.steps[0]
    mark = first.elevation_m
    rows = []
    for shot in survey.shots:
        if shot.id == first.entry.point_id:
            continue
        off = mark - shot.elevation_m
        words = "level with" if abs(off) < 5e-4 else "under" if off > 0 else "over"
        by = "" if words == "level with" else units.show_elevation(abs(off), style) + " "
        rows.append(
            LevelRow(
                shot.id, units.show_elevation(shot.elevation_m, style), f"{by}{words} {first.entry.point_id}"
            )
        )
    return tuple(rows)


def _falls(job: model.Job, survey: Survey) -> tuple[str, tuple[str, ...]]:
    """The fall that the ground gives: from the highest joint to the lowest point, and from each downspout to the well."""
    style = survey.style
    shots = {shot.id: shot for shot in survey.shots}
    starts = {}
    for label, spout in job.downspouts.items():
        joint = spout.joint.value_si if spout.joint is not None else None
        if label in shots:
            level = joint if joint is not None else shots[label].elevation_m
            starts[label] = ShotFact(label, shots[label].at, level, ground=True)
    mark = survey.level_book.steps[0].entry.point_id if survey.level_book is not None else None
    ends = [
        shot
        for shot in survey.shots
        if shot.ground and shot.id not in starts and shot.id not in (mark, OPENING_POINT)
    ]
    if not starts or not ends:
        return "", ()
    high = max(starts.values(), key=lambda shot: shot.elevation_m)
    low = min(ends, key=lambda shot: shot.elevation_m)
    drop = high.elevation_m - low.elevation_m
    if drop > 0:
        whole = f"{units.show_elevation(drop, style)} of fall from the highest downspout ({high.id}) to {_the(low.id)}."
    else:
        whole = f"No fall: {_the(low.id)} lies {units.show_elevation(-drop, style)} over the highest downspout ({high.id})."
    to = shots.get(WELL_POINT, low)
    return whole, tuple(_fall(start, to, style) for start in starts.values())


def _the(point: str) -> str:
    """A place that has a word and no label: the place for the well."""
    return f"the {point}" if point in (WELL_POINT, LINE_POINT) else point


def _fall(start: ShotFact, to: ShotFact, style: Style) -> str:
    drop = start.elevation_m - to.elevation_m
    if drop <= 0:
        return (
            f"{start.id}: the ground at {_the(to.id)} lies {units.show_elevation(-drop, style)} higher. All fall must come "
            "from digging deeper; look for a lower place."
        )
    words = f"{start.id}: {units.show_elevation(drop, style)} down to {_the(to.id)}"
    if start.at is not None and to.at is not None and math.dist(start.at, to.at) > 0:
        away = math.dist(start.at, to.at)
        words += f", {units.show_slope(drop / away, style)} over {units.show_distance(away, style)} in a straight line"
    return words + "."


def _opening(job: model.Job, survey: Survey, style: Style) -> tuple[LeafEdit, ...]:
    """The elevation of the lowest opening, where it was shot and nobody has written it down."""
    shot = next((shot for shot in survey.shots if shot.id == OPENING_POINT), None)
    if shot is None:
        return ()
    words = units.show_elevation(shot.elevation_m, style)
    house = job.buildings.get("H1")
    old = house.lowest_opening.text if house is not None and house.lowest_opening is not None else ""
    return () if old == words else (LeafEdit("buildings.H1.lowest_opening", words),)
