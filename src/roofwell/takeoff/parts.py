"""Order lines of basins, stone and geotextile."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from roofwell import tables
from roofwell.system.scheme import Basin, Scheme, Well
from roofwell.system.well_words import cloth_faces
from roofwell.tables.fabrics import opening_words
from roofwell.takeoff.digging import Hole
from roofwell.takeoff.geotextile import lining
from roofwell.takeoff.lines import line
from roofwell.takeoff.pipes import length_m, same_size
from roofwell.takeoff.quantities import Item
from roofwell.takeoff.stone import bodies_m3, stone_named, surround_m3
from roofwell.takeoff.trade import bulk, cloth, mass, size_key, size_text, up
from roofwell.units import Style, show_bulk_volume, show_length, show_percent

PEA = "pea"


def basin_lines(basins: Sequence[Basin], style: Style) -> list[Item]:
    """Return basin, risers, grate and what hangs in it, one set per basin."""
    out = []
    for basin in basins:
        row = _basin_row(basin)
        size = f"{size_text(basin.width_m)} {basin.shape}"
        if basin.length_m:
            size = f"{size_text(basin.width_m)} by {size_text(basin.length_m)}"
        name = row["key"] if row is not None else f"{basin.shape}-{size_key(basin.width_m)}"
        deep = max(0.0, basin.grate_m - basin.floor_m)
        depth = f"{show_length(deep, style)} from floor to grate"
        out.append(line(f"basin:{name}", "basin", f"{size} catch basin", 1.0, "each", basin.id, depth))
        if row is not None:
            base, riser = length_m(row["base_height"]), length_m(row["riser_height"])
            count = up(max(0.0, deep - base), riser) / riser
            if count:
                note = f"{depth}, less the basin's own {row['base_height']}, by {row['riser_height']}"
                out.append(
                    line(
                        f"basin-riser:{name}",
                        "basin",
                        f"{size} basin riser, {row['riser_height']}",
                        float(round(count)),
                        "each",
                        basin.id,
                        note,
                    )
                )
        note = "priced with the basin"
        has_lid = [
            words
            for there, words in (
                (basin.lid_held, "screwed or locked down"),
                (basin.mosquito_screen, "fine mesh under it against mosquitoes"),
            )
            if there
        ]
        note = "; ".join([note, *has_lid])
        grate = f"{size} grate"
        out.append(line(f"basin-grate:{name}", "basin", grate, 1.0, "each", basin.id, note, priced=False))
        for has, thing in ((basin.hood, "hood"), (basin.screen, "screen")):
            if has:
                out.append(
                    line(
                        f"basin-{thing}:{name}", "basin", f"{thing} for the outlet", 1.0, "each", basin.id, ""
                    )
                )
    return out


def _basin_row(basin: Basin) -> dict[str, str] | None:
    rows = tables.rows("basin_sizes")
    return next(
        (r for r in rows if r["shape"] == basin.shape and same_size(length_m(r["width"]), basin.width_m)),
        None,
    )


def splash_lines(scheme: Scheme, bought: frozenset[str]) -> list[Item]:
    """Return a splash block for every place where water falls on bare ground."""
    places = [o.id for o in scheme.overflows if o.id in bought and o.kind == "splash block"]
    places += [o.id for o in scheme.outlets if o.id in bought and o.in_the_open and o.pad]
    if not places:
        return []
    what = "splash block or stone pad"
    return [line("splash-block", "well", what, float(len(places)), "each", ", ".join(places), "")]


def stone_volumes(wells: Sequence[Well], dug: Sequence[Hole]) -> dict[str, list[tuple[str, float]]]:
    """Return for each stone (key of the table, or as the job calls it) the places and volumes, m³."""
    out: dict[str, list[tuple[str, float]]] = {}
    for well in wells:
        stone = stone_named(well.stone)
        out.setdefault(stone.key if stone is not None else well.stone, []).append(
            (well.id, surround_m3(well))
        )
    for hole in dug:
        if hole.bedding_m3 > 0:
            out.setdefault(PEA, []).append((hole.part, hole.bedding_m3))
    return out


def stone_lines(
    volumes: Mapping[str, list[tuple[str, float]]],
    wells: Sequence[Well],
    settings: Mapping[str, float],
    style: Style,
) -> list[Item]:
    """Return each stone in tons (or metric tons) up to the next half, with volume and density."""
    density, waste = settings["stone_density"], settings["waste"]
    per_bulk = density / (bulk(1.0, style)[0] / mass(1.0, style)[0])
    unit, bulk_unit = mass(1.0, style)[1], bulk(1.0, style)[1]
    bodies = {well.id: bodies_m3(well) for well in wells}
    out = []
    for key, places in volumes.items():
        net = math.fsum(volume for _, volume in places)
        tons = mass(net * density, style)[0]
        parts = ", ".join(f"{part} {show_bulk_volume(volume, style)}" for part, volume in places)
        taken = math.fsum(bodies.get(part, 0.0) for part, _ in places) if key != PEA else 0.0
        less = f" (pit less {show_bulk_volume(taken, style)} of what lies in it)" if taken else ""
        note = (
            f"{parts}{less}: {show_bulk_volume(net, style)} x {per_bulk:.2f} {unit}/{bulk_unit} = "
            f"{tons:.1f} {unit}, and {show_percent(waste)} waste"
        )
        out.append(
            line(
                f"stone:{key}",
                "stone",
                _stone_words(key, [well for well in wells if well.id in {part for part, _ in places}]),
                up(tons * (1 + waste), 0.5),
                unit,
                ", ".join(part for part, _ in places),
                note,
            )
        )
    return out


def _stone_words(key: str, wells: Sequence[Well]) -> str:
    """Return a stone as it is ordered; its shape where the job wants another than its name stands for."""
    stone = stone_named(key)
    if stone is None:
        return f"stone {key}"
    other = next((well.stone_shape for well in wells if well.stone_shape != stone.shape), None)
    return stone.what if other is None else f"{stone.what}, {other}"


def geotextile_lines(wells: Sequence[Well], settings: Mapping[str, float], style: Style) -> list[Item]:
    """Return the geotextile with laps, whole square yards or square meters."""
    lap = settings["lap"]
    lined = [(well, lining(well, lap)) for well in wells if well.geotextile or well.top_stone_m > 0]
    if not lined:
        return []
    gross = math.fsum(area.gross_m2 for _, area in lined)
    quantity, unit = cloth(gross, style)
    note = "; ".join(
        f"{well.id}: {cloth_faces(well)}; {cloth(area.net_m2, style)[0]:.1f} net, "
        f"{cloth(area.gross_m2, style)[0]:.1f} {unit} with {show_length(lap, style)} laps"
        for well, area in lined
    )
    places = ", ".join(well.id for well, _ in lined)
    return [
        line("geotextile", "geotextile", _cloth_words(wells, style), up(quantity, 1.0), unit, places, note)
    ]


def _cloth_words(wells: Sequence[Well], style: Style) -> str:
    """Return the one geotextile that does in every pit, by its properties: never a make."""
    found = [well.fabric for well in wells if well.fabric is not None]
    if not found:
        return "nonwoven geotextile"
    opening = min(fabric.opening_m for fabric in found)
    return (
        f"needle-punched nonwoven geotextile, strength class {min(fabric.strength_class for fabric in found)}, opening at "
        f"most {opening_words(opening, style)}, permittivity at least "
        f"{max(fabric.permittivity_per_s for fabric in found):.3g} per s"
    )
