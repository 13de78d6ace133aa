"""The Survey step: from the job as entered to facts in SI."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import shapely

from roofwell import tables
from roofwell.job import model
from roofwell.job.rules import RuleFile, load_rules
from roofwell.physics.roof.catchment import AreaRule, effective_area_m2
from roofwell.system.dug_by import usual
from roofwell.system.facts import (
    BuildingFact,
    FeatureFact,
    RainFacts,
    RoofFact,
    Survey,
    Targets,
)
from roofwell.system.ground_facts import break_lines, ground_surface, level_book, shots
from roofwell.system.groundwater import aquifer_fact
from roofwell.system.ledger import Ledger
from roofwell.system.place import xy, xys
from roofwell.system.rain_facts import rain_facts
from roofwell.system.soil_facts import high_water_depth_m, soil_facts
from roofwell.units import Quantity

MUST_BE_SAID = {
    "features.lot_line": ("lot line",),
    "features.septic": ("septic tank", "leach field"),
    "features.water_well": ("drinking-water well",),
    "features.slope_crest": ("slope crest",),
    "features.neighbor": ("neighbor's building",),
}


def survey(job: model.Job, *, folder: Path | None = None) -> Survey:
    """Reduce a job to facts.

    Parameters
    ----------
    job
        The job as read; a leaf that could not be read is missing.
    folder
        Where the files that the job names stand.

    Raises
    ------
    InputError
        If a rain file, a rule file or the rod readings cannot be used.
    """
    ledger = Ledger(job.job.units or "us")
    rules = _rules(job, folder, ledger)
    settings = _settings(job, rules, ledger)
    book = level_book(job, ledger)
    points = shots(job, book)
    features = _features(job)
    lines, loose = break_lines(features, points, ledger.style)
    ground, ground_known = ground_surface(points, ledger, lines)
    _note_absent(job, features, ledger)
    buildings = _buildings(job, ledger)
    located, note = _utilities(job, ledger)
    roofs = _roofs(job, ledger)
    soil = soil_facts(job, rules, ledger, roof_m2=sum(roof.plan_area_m2 for roof in roofs))
    depth = high_water_depth_m(job.soil)
    if depth is not None and soil.high_water_m is None:
        places = [xy(well.at) for well in job.wells.values() if well.at is not None] or [(0.0, 0.0)]
        level = min(float(z) for z in ground.elevation_m(places))
        soil = replace(soil, high_water_m=level - depth)
    aquifer = aquifer_fact(job, ledger)
    rain = rain_facts(job, folder, ledger)
    targets = _of_the_table(_targets(job, rules, ledger), rain, settings["storm_duration"], ledger)
    return Survey(
        style=job.job.units or "us",
        soil=soil,
        rain=rain,
        rules=rules,
        ground=ground,
        ground_known=ground_known,
        shots=points,
        level_book=book,
        buildings=buildings,
        neighbors=tuple(f for f in features if f.kind == "neighbor's building"),
        features=features,
        roofs=roofs,
        targets=targets,
        utilities_located=located,
        utilities_note=note,
        missing=frozenset(ledger.missing),
        assumed=ledger.assumed,
        settings=settings,
        storm_shape=job.settings.storm_shape or "alternating blocks",
        aquifer=aquifer,
        flood_dates=job.complaint.flood_dates,
        puddle=xys(job.complaint.puddle),
        puddle_depth_m=_si(job.complaint.puddle_depth),
        loose_break_lines=loose,
    )


def _rules(job: model.Job, folder: Path | None, ledger: Ledger) -> RuleFile | None:
    if job.place.rules is None:
        ledger.lack("place.rules")
        return None
    rules, _ = load_rules(job.place.rules, folder)
    if rules is None:
        ledger.lack("place.rules")
    return rules


def _settings(job: model.Job, rules: RuleFile | None, ledger: Ledger) -> dict[str, float]:
    given = job.settings
    rule = rules.values() if rules is not None else {}

    def pick(name: str, assumption: str) -> float:
        quantity: Quantity | None = getattr(given, name)
        return ledger.value(quantity, f"settings.{name}", assumption, rule=rule.get(name))

    own = usual(ledger.style)
    if given.trench_width is not None:
        own["trench_width"] = given.trench_width.value_si
    return own | {
        "runoff_coefficient": pick("runoff_coefficient", "runoff-coefficient"),
        "initial_loss": pick("initial_loss", "roof-loss"),
        "event_gap": pick("event_gap", "event-gap"),
        "storm_duration": pick("storm_duration", "storm-duration"),
        "starting_level": pick("starting_level", "starting-level"),
        "cover_lawn": pick("cover_lawn", "cover-lawn"),
        "cover_walk": pick("cover_walk", "cover-walk"),
        "cover_drive": pick("cover_drive", "cover-drive"),
        "crossing_clearance": pick("crossing_clearance", "crossing-clearance"),
        "freeboard": pick("freeboard", "freeboard-opening"),
        "waste": pick("waste", "waste"),
        "swell": pick("swell", "swell"),
        "lap": pick("lap", "lap"),
        "stone_density": pick("stone_density", "stone-density"),
        "cloudburst_duration": ledger.assume("settings.cloudburst_duration", "cloudburst-duration"),
        "overland_manning_n": ledger.assume("overland.manning_n", "overland-manning-n"),
        "overland_side_slope": ledger.assume("overland.side_slope", "overland-side-slope"),
    }


def _features(job: model.Job) -> tuple[FeatureFact, ...]:
    out = []
    for id, feature in job.features.items():
        if feature.outline:
            shape, points = "outline", xys(feature.outline)
        elif feature.path:
            shape, points = "path", xys(feature.path)
        elif feature.at is not None:
            shape, points = "point", (xy(feature.at),)
        else:
            continue
        top, bottom = _buried(feature)
        out.append(
            FeatureFact(
                id=id,
                kind=feature.kind,
                utility=feature.utility,
                shape=shape,  # type: ignore[arg-type]
                points=points,
                invert_m=_si(feature.invert),
                top_m=top,
                bottom_m=bottom,
                diameter_m=_si(feature.diameter),
                condition=feature.condition,
                marked_by=feature.marked_by,
            )
        )
    return tuple(out)


def _buried(feature: model.Feature) -> tuple[float | None, float | None]:
    """Top and bottom of a buried thing, from whatever was measured of it."""
    top, bottom = _si(feature.top), _si(feature.bottom)
    diameter = _si(feature.diameter)
    if bottom is None and feature.invert is not None:
        bottom = feature.invert.value_si
    if top is None and bottom is not None and diameter is not None:
        top = bottom + diameter
    if bottom is None and top is not None and diameter is not None:
        bottom = top - diameter
    return top, bottom


def _note_absent(job: model.Job, features: tuple[FeatureFact, ...], ledger: Ledger) -> None:
    present = {feature.kind for feature in features}
    none = set(job.site.none)
    for leaf, kinds in MUST_BE_SAID.items():
        if any(kind not in present and kind not in none for kind in kinds):
            ledger.lack(leaf)  # who says that there is no tank has not said that there is no field
    if any(f.kind == "existing drain" and f.condition in (None, "not inspected") for f in features):
        ledger.lack("features.drain_condition")
    if any(f.kind == "utility" and f.top_m is None for f in features):
        ledger.lack("features.utility_depth")


def _buildings(job: model.Job, ledger: Ledger) -> tuple[BuildingFact, ...]:
    out = tuple(
        BuildingFact(
            id=id,
            outline=xys(building.outline),
            lowest_opening_m=_si(building.lowest_opening),
            opening_is=building.opening_is,
            lowest_floor_m=_si(building.lowest_floor),
            basement=building.basement,
        )
        for id, building in job.buildings.items()
    )
    if not out or any(building.lowest_opening_m is None for building in out):
        ledger.lack("buildings.lowest_opening")
    return out


def _utilities(job: model.Job, ledger: Ledger) -> tuple[bool | None, str]:
    utilities = job.utilities
    if utilities.located is None:
        ledger.lack("utilities")
        return None, "not yet located"
    if not utilities.located:
        return False, "not located"
    by = utilities.marked_by or "somebody not named"
    ticket = f", ticket {utilities.ticket}" if utilities.ticket else ""
    when = f", {utilities.date:%Y-%m-%d}" if utilities.date else ""
    return True, f"located by {by}{ticket}{when}"


def _roofs(job: model.Job, ledger: Ledger) -> tuple[RoofFact, ...]:
    """Return every roof section that reaches a gutter, upper roofs added to the lower one they shed on."""
    plan = {id: _plan_area(roof) for id, roof in job.roofs.items()}
    out = []
    for id, roof in job.roofs.items():
        area = plan[id]
        if area is None:
            ledger.lack("roofs")
            continue
        rule: AreaRule = "plan area"
        counted = effective_area_m2(plan_area_m2=area, rise_per_run=_si(roof.pitch) or 0.0, rule=rule)
        gutter, seen = roof.gutter, {id}
        lower = roof.sheds_on
        while gutter is None and lower in job.roofs and lower not in seen:
            seen.add(lower)
            gutter, lower = job.roofs[lower].gutter, job.roofs[lower].sheds_on
        if roof.trees is None:
            ledger.lack("roofs.trees")
        out.append(
            RoofFact(id, xys(roof.outline), area, counted, gutter, roof.covering, roof.trees, roof.tree_kind)
        )
    fed = {roof.gutter for roof in job.roofs.values()}
    if not fed or any(id not in fed for id, gutter in job.gutters.items() if gutter.state != "abandoned"):
        ledger.lack("roofs")  # a gutter that no roof section names takes water that nobody has measured
    return tuple(out)


def _plan_area(roof: model.Roof) -> float | None:
    if roof.plan_area is not None:
        return roof.plan_area.value_si
    if len(roof.outline) >= 3:
        return float(shapely.Polygon(xys(roof.outline)).area)
    return None


def _targets(job: model.Job, rules: RuleFile | None, ledger: Ledger) -> Targets:
    targets = job.targets
    rule = rules.values() if rules is not None else {}

    def pick(quantity: Quantity | None, name: str, assumption: str) -> tuple[float, str]:
        from_rule = rule.get(name)
        where = "job" if quantity is not None else "rule file" if from_rule is not None else "assumed"
        return ledger.value(quantity, f"targets.{name}", assumption, rule=from_rule), where

    storm, storm_from = pick(targets.storm, "storm", "storm-return-period")
    empty, empty_from = pick(targets.hours_to_empty, "hours_to_empty", "hours-to-empty")
    return Targets(
        storm_years=storm,
        storm_from=storm_from,
        empty_s=empty,
        empty_from=empty_from,
        spills_year=_si(targets.spills),
        lawn_clear_s=_si(targets.lawn_clear),
        budget=_si(targets.budget),
        years=_si(targets.years),
    )


def _of_the_table(targets: Targets, rain: RainFacts, storm_duration_s: float, ledger: Ledger) -> Targets:
    """Take the nearest storm that the rain table holds; one that was asked for and is not held is missing."""
    if float(rain.table.duration_s[-1]) < storm_duration_s:
        ledger.lack("rain.storm")  # a table that ends before the storm does cannot show the whole of it
    held = rain.table.return_period_years
    nearest = min(max(targets.storm_years, float(held[0])), float(held[-1]))
    if abs(nearest - targets.storm_years) <= 1e-6 * targets.storm_years:
        return targets
    ledger.lack("rain.storm")
    return replace(targets, storm_years=nearest)


def _si(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value_si


def measurement(leaf: str) -> tuple[str, str]:
    """Return what a missing measurement is called and how to take it."""
    for row in tables.rows("measurements"):
        if row["leaf"] == leaf:
            return row["what"], row["how"]
    return leaf, ""
