"""Values of a job that contradict each other or cannot be measured."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job.basin_values import basin_faults
from roofwell.job.filter_values import filter_faults
from roofwell.job.geometry import path_length_m
from roofwell.job.lines import KeyPath
from roofwell.job.model import Job, RainDepth, Well
from roofwell.job.problems import Fault, nearest
from roofwell.job.rain_values import rain_faults
from roofwell.job.soil_values import soil_faults
from roofwell.job.well_values import shape_faults
from roofwell.physics.rain import frequency
from roofwell.physics.roof.gutter_flow import STEEPEST
from roofwell.tables import rain_library
from roofwell.units import Quantity


def value_faults(job: Job) -> Iterator[Fault]:
    """Find values that cannot hold together; each fault drops the leaves that cannot be trusted."""
    yield from _place_and_rain(job)
    yield from _house(job)
    yield from _downspouts(job)
    yield from _gutters(job)
    yield from _shares(job)
    yield from _nothing(job)
    yield from _features(job)
    yield from soil_faults(job)
    yield from _runs(job)
    yield from basin_faults(job)
    yield from _wells(job)
    yield from filter_faults(job)
    yield from _overrules(job)
    yield from _beyond_belief(job)


def _beyond_belief(job: Job) -> Iterator[Fault]:
    """A lid that no hand lifts, a well that outlives its house: a slip of the finger, or of the unit."""
    heaviest = tables.limit("lid-weight-believed", job.job.units or "us")
    oldest = tables.limit("years-believed")
    for table in ("basins", "overflows"):
        for label, part in getattr(job, table).items():
            weight = part.lid_weight
            if weight is not None and weight.value_si > heaviest.value_si:
                path: KeyPath = (table, label, "lid_weight")
                message = f"no lid or grate of a yard weighs that; at most {heaviest.text} is believed"
                yield Fault(path, message, "too-large", (path,))
    smallest = tables.limit("gutter-size-believed", job.job.units or "us")
    for label, gutter in job.gutters.items():
        for name in ("depth", "top_width"):
            size = getattr(gutter, name)
            if size is not None and size.value_si < smallest.value_si:
                path = ("gutters", label, name)
                message = f"no gutter is as small as that; at least {smallest.text} is believed"
                yield Fault(path, message, "too-small", (path,))
    tallest = tables.limit("gutter-height-believed", job.job.units or "us")
    for label, downspout in job.downspouts.items():
        height = downspout.gutter_height
        if height is not None and height.value_si > tallest.value_si:
            path = ("downspouts", label, "gutter_height")
            message = f"no gutter of a house hangs that high; at most {tallest.text} is believed"
            yield Fault(path, message, "too-large", (path,))
    years = job.targets.years
    if years is not None and years.value_si > oldest.value_si:
        path = ("targets", "years")
        yield Fault(
            path, f"at most {oldest.text} are followed; sediment tells nothing beyond", "too-large", (path,)
        )


def _pair(table: KeyPath, first: str, second: str, message: str, code: str = "contradiction") -> Fault:
    return Fault((*table, first), message, code, ((*table, first), (*table, second)))


def _over(a: Quantity | None, b: Quantity | None) -> bool:
    return a is not None and b is not None and a.exact > b.exact


def _place_and_rain(job: Job) -> Iterator[Fault]:
    place, rain = job.place, job.rain
    if (place.latitude is None) != (place.longitude is None):
        given, other = ("latitude", "longitude") if place.longitude is None else ("longitude", "latitude")
        yield Fault(
            ("place", given), f"{other} is needed beside {given}", "half-a-place", (("place", given),)
        )
    for own_file, shipped in (("table", "shipped_table"), ("record", "shipped_record")):
        if getattr(rain, own_file) is not None and getattr(rain, shipped) is not None:
            message = f"{own_file} names a file of your own and {shipped} a shipped one; keep one of them"
            yield _pair(("rain",), own_file, shipped, message, "given-twice")
    kinds: tuple[rain_library.Kind, ...] = ("table", "record")
    for kind in kinds:
        name = getattr(rain, f"shipped_{kind}")
        ids = [entry.id for entry in rain_library.entries(kind)]
        if name is not None and name not in ids:
            path: KeyPath = ("rain", f"shipped_{kind}")
            message = f"no {kind} of this id comes with Roofwell; {nearest(name, ids)}"
            yield Fault(path, message, "no-such-rain", (path,))
    yield from rain_faults(job)
    yield from _typed_rain(job)


def _typed_rain(job: Job) -> Iterator[Fault]:
    """Typed storms go together, and every storm between them can be interpolated."""
    rain = job.rain
    faulty = False
    seen: dict[tuple[Fraction, Fraction], int] = {}
    for index, typed in enumerate(rain.depths):
        key = (typed.duration.exact, typed.return_period.exact)
        path = ("rain", "depths", index)
        if key in seen:
            message = f"this storm is given twice (also as entry {seen[key] + 1})"
            faulty = True
            yield Fault(path, message, "given-twice", (path,))
            continue
        seen[key] = index
        for earlier in rain.depths[:index]:
            if _out_of_order(earlier, typed):
                message = (
                    "more rain falls in a longer storm and in a rarer one; this does not go with "
                    f"{earlier.depth.text} in {earlier.duration.text}, {earlier.return_period.text}"
                )
                faulty = True
                yield Fault((*path, "depth"), message, "contradiction", (path,))
                break

    if rain.depths and not faulty:
        figures = [(d.duration.value_si, d.return_period.value_si, d.depth.value_si) for d in rain.depths]
        try:
            frequency.table_from_figures(figures=figures, series="partial duration")
        except InputError as error:
            whole: KeyPath = ("rain", "depths")
            message = f"{error.message[:200]}; give each duration for each return period"
            yield Fault(whole, message, "rain-gap", (whole,))


def _out_of_order(a: RainDepth, b: RainDepth) -> bool:
    """Say whether the storm that is as long and as rare as the other, or more so, brings less rain."""
    longer = (b.duration.exact - a.duration.exact, b.return_period.exact - a.return_period.exact)
    more = b.depth.exact - a.depth.exact
    return (min(longer) >= 0 and more < 0) or (max(longer) <= 0 and more > 0)


def _house(job: Job) -> Iterator[Fault]:
    for label, building in job.buildings.items():
        if _over(building.lowest_floor, building.lowest_opening):
            message = "the lowest opening cannot lie below the lowest floor; the floor counts the basement"
            yield _pair(("buildings", label), "lowest_opening", "lowest_floor", message)


def _downspouts(job: Job) -> Iterator[Fault]:
    for label, downspout in job.downspouts.items():
        table: KeyPath = ("downspouts", label)
        if downspout.shape == "round":
            for key in ("width", "breadth"):
                if getattr(downspout, key) is not None:
                    message = f"a round downspout has a diameter, no {key}"
                    yield _pair(table, key, "shape", message)
        if downspout.shape == "rectangular" and downspout.diameter is not None:
            message = "a rectangular downspout has a width and a breadth, no diameter"
            yield _pair(table, "diameter", "shape", message)
        if downspout.outlet_diameter is not None and downspout.outlet_width is not None:
            message = "an outlet has a diameter, or a width and a breadth"
            yield _pair(table, "outlet_diameter", "outlet_width", message)
        drained = job.gutters.get(downspout.gutter or "")
        height, deep = downspout.gutter_height, drained.depth if drained is not None else None
        if height is not None and height.exact <= (deep.exact if deep is not None else 0):
            path: KeyPath = (*table, "gutter_height")
            message = (
                "the gutter would lie in the lawn; its height is measured from the ground up to its brim"
            )
            yield Fault(path, message, "contradiction", (path,))
        if drained is not None and _over(downspout.along, drained.length):
            message = f"the outlet cannot stand beyond the end of {downspout.gutter}; along is measured on the gutter"
            yield Fault((*table, "along"), message, "contradiction", ((*table, "along"),))


def _gutters(job: Job) -> Iterator[Fault]:
    for label, gutter in job.gutters.items():
        if _over(gutter.bottom_width, gutter.top_width):
            message = "a gutter is no narrower at the top than at the bottom"
            yield _pair(("gutters", label), "bottom_width", "top_width", message)
        if gutter.fall is not None and gutter.fall.value_si > STEEPEST:
            fall_path: KeyPath = ("gutters", label, "fall")
            message = f"a gutter falls by at most {STEEPEST * 100:g} %, usually by 1/16 in/ft; a steeper one is no gutter"
            yield Fault(fall_path, message, "makes-no-sense", (fall_path,))
        for index, valley in enumerate(gutter.valleys):
            if _over(valley.at, gutter.length):
                path: KeyPath = ("gutters", label, "valleys", index)
                message = f"a valley cannot pour in beyond the end of {label}; at is measured on the gutter"
                yield Fault((*path, "at"), message, "contradiction", (path,))
        if gutter.freeboard is not None and _over(gutter.freeboard, gutter.depth):
            message = "the freeboard is a part of the depth and cannot be more than it"
            yield _pair(("gutters", label), "freeboard", "depth", message)


def _shares(job: Job) -> Iterator[Fault]:
    sums: dict[str, Fraction] = {}
    for label, downspout in job.downspouts.items():
        if downspout.gutter is None or downspout.share is None:
            continue
        total = sums.get(downspout.gutter, Fraction(0)) + downspout.share.exact
        path: KeyPath = ("downspouts", label, "share")
        if total > 1:
            message = f"with it {downspout.gutter} gives away {float(total) * 100:.4g} %; at most 100 %"
            yield Fault(path, message, "more-than-all", (path,))
        else:
            sums[downspout.gutter] = total


def _nothing(job: Job) -> Iterator[Fault]:
    """Shares of which nothing at all is no measurement: stone without voids, a grate without openings."""
    shares: list[tuple[KeyPath, Quantity | None]] = []
    shares += [(("wells", label, "voids"), well.voids) for label, well in job.wells.items()]
    shares += [(("overflows", label, "open_share"), over.open_share) for label, over in job.overflows.items()]
    for name in ("pit_tests", "fill_tests", "witnesses"):
        tests = enumerate(getattr(job.soil, name))
        shares += [(("soil", name, index, "voids"), test.voids) for index, test in tests]
    for path, share in shares:
        if share is not None and share.exact == 0:
            yield Fault(path, 'must be above 0 %, such as "40 %"', "not-positive", (path,))


def _features(job: Job) -> Iterator[Fault]:
    for index, kind in enumerate(job.site.none):
        here = [label for label, feature in job.features.items() if feature.kind == kind]
        if here:
            message = f"{here[0]} is a {kind}; take it out, or do not say that there is none"
            yield Fault(("site", "none", index), message, "contradiction", (("site", "none"),))
    for label, feature in job.features.items():
        if _over(feature.bottom, feature.top):
            yield _pair(("features", label), "bottom", "top", "the bottom cannot lie above the top")


def _runs(job: Job) -> Iterator[Fault]:
    for label, run in job.runs.items():
        table: KeyPath = ("runs", label)
        inside, outside = run.inside_diameter, run.outside_diameter
        if inside is not None and outside is not None and inside.exact >= outside.exact:
            message = "the inside diameter must be smaller than the outside diameter"
            yield _pair(table, "inside_diameter", "outside_diameter", message)
        for index, fitting in enumerate(run.fittings):
            if fitting.angle is not None and not 0 < fitting.angle.value_si <= math.pi:
                path: KeyPath = (*table, "fittings", index, "angle")
                message = "a fitting turns the pipe by more than 0 and at most 180 deg, such as 45 deg"
                yield Fault(path, message, "makes-no-sense", (path,))
        if len(run.path) < 2:
            continue
        length_m = path_length_m(run.path)
        for index, fitting in enumerate(run.fittings):
            # A station read off the same path may differ from it by the width of a tape's mark.
            if fitting.station.value_si > length_m + 0.01:
                path = (*table, "fittings", index)
                message = f"the run is only {length_m:.2f} m ({length_m / 0.3048:.2f} ft) long along its path"
                yield Fault((*path, "station"), message, "makes-no-sense", (path,))


def _wells(job: Job) -> Iterator[Fault]:
    for label, well in job.wells.items():
        table: KeyPath = ("wells", label)
        if _over(well.bottom, well.inlet_invert):
            yield _pair(table, "inlet_invert", "bottom", "the inlet cannot lie below the bottom of the pit")
        if well.hole_diameter is not None and _over(well.hole_diameter, well.body_diameter):
            message = "hole_diameter is that of the small holes in the body's wall, and larger than the body"
            yield _pair(table, "hole_diameter", "body_diameter", message)
        if well.pit_shape == "round":
            for key in ("pit_length", "pit_width"):
                if getattr(well, key) is not None:
                    yield _pair(table, key, "pit_shape", f"a round pit has a pit_diameter, no {key}")
        if well.pit_shape == "rectangular" and well.pit_diameter is not None:
            message = "a rectangular pit has a pit_length and a pit_width, no pit_diameter"
            yield _pair(table, "pit_diameter", "pit_shape", message)
        yield from shape_faults(label, well)
        yield from _bodies_fit(table, well)
    for label, overflow in job.overflows.items():
        of = job.wells.get(overflow.of or "")
        if of is not None and _over(of.bottom, overflow.lip):
            path = ("overflows", label, "lip")
            yield Fault(path, f"the lip lies below the bottom of {overflow.of}", "contradiction", (path,))
        if of is not None and overflow.kind == "stone surface" and of.stone_top in (None, "buried"):
            path = ("overflows", label, "kind")
            message = f'soil lies over the stone of {overflow.of}; write stone_top = "surface" there, or take a grate'
            yield Fault(path, message, "contradiction", (path,))


def _bodies_fit(table: KeyPath, well: Well) -> Iterator[Fault]:
    """An upright body fits into its pit, and a row of them into the pit's length."""
    if well.body not in (None, "cylinder"):
        return
    for key in ("pit_diameter", "pit_length", "pit_width"):
        pit: Quantity | None = getattr(well, key)
        if _over(well.body_diameter, pit):
            assert well.body_diameter is not None
            message = f"a body {well.body_diameter.text} wide does not fit"
            yield _pair(table, key, "body_diameter", message)
            return
    bodies, spacing, body = well.bodies or 1, well.body_spacing, well.body_diameter
    if bodies < 2 or spacing is None or body is None:
        return
    if spacing.exact < body.exact:
        message = f"measured from center to center, bodies {body.text} wide stand at least that far apart"
        yield _pair(table, "body_spacing", "body_diameter", message)
        return
    row = (bodies - 1) * spacing.exact + body.exact
    for key in ("pit_length", "pit_diameter"):
        pit = getattr(well, key)
        if pit is not None and row > pit.exact:
            feet = row / Fraction("0.3048")
            message = f"a row of {bodies} bodies is longer: {float(row):.3g} m ({float(feet):.4g} ft)"
            yield _pair(table, key, "body_spacing", message)


def _overrules(job: Job) -> Iterator[Fault]:
    """An overrule names a check that there is, and each part is set aside once."""
    known = sorted(row["code"] for row in tables.rows("check_codes"))
    seen: dict[tuple[str, str | None], int] = {}
    for index, overrule in enumerate(job.overrules):
        path: KeyPath = ("overrules", index)
        if overrule.check not in known:
            message = f"no check has this code; {nearest(overrule.check, known)}"
            yield Fault((*path, "check"), message, "no-such-check", (path,))
            continue
        what = (overrule.check, overrule.subject)
        if what in seen:
            message = f"this is set aside already, by entry {seen[what] + 1}; keep one of the two"
            yield Fault(path, message, "given-twice", (path,))
        seen.setdefault(what, index)
