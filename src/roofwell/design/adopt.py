"""Adopting: a designed value becomes a given one, in a copy of the document."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from roofwell import units
from roofwell.design.result import Design
from roofwell.job.compare import leaves
from roofwell.job.left_out import with_left_out_sections
from roofwell.job.lines import write_path
from roofwell.job.references import LABELED_TABLES
from roofwell.system.origin import Origin
from roofwell.system.scheme import XY, Scheme, Well
from roofwell.units import Dimension

FIGURE_OF = {
    **{
        key: f"{key}_m"
        for key in [
            "width",
            "floor",
            "grate",
            "nominal",
            "upstream_invert",
            "downstream_invert",
            "body_diameter",
            "body_height",
            "body_length",
            "stone_below",
            "stone_above",
            "body_wall",
            "body_spacing",
            "hole_diameter",
            "bottom",
            "lip",
            "pit_length",
            "pit_width",
        ]
    },
    "pit_diameter": "pit_width_m",
    "body_width": "body_diameter_m",
    "stone_depth": "stone_below_m",
}
"""What a Scheme calls the figure that a key of the document holds, where the two differ."""


def designed_leaves(document: Mapping[str, Any], design: Design) -> dict[str, Any]:
    """Return what adopting would write into the document, leaf by leaf, by key path (``runs.P1.nominal``)."""
    given = {path for path, _ in leaves(dict(document))}
    return {
        write_path(path): value
        for path, value in leaves(adopt(document, design))
        if path not in given and value != {}
    }


def _tables_only(document: dict[str, Any]) -> dict[str, Any]:
    """Leave out what stands where a table of parts, or a part, belongs and is none: reading has told it already."""
    for table in LABELED_TABLES:
        if table in document and not isinstance(document[table], dict):
            del document[table]
        for id in [id for id, part in document.get(table, {}).items() if not isinstance(part, dict)]:
            del document[table][id]
    return document


def adopt(document: Mapping[str, Any], design: Design) -> dict[str, Any]:
    """Return the document with every designed part and size of the design written into it.

    What the document gives already stays as it was written. Assumed values stay assumed: they are for
    measuring, not for adopting. Where the levels do not fit, levels that were designed stay designed: they are the
    nearest to what is wished, and given they would be told as wishes of the job themselves.
    """
    out = _tables_only(copy.deepcopy(with_left_out_sections(dict(document))))
    style, scheme = design.survey.style, design.scheme
    fits = not scheme.broken and not scheme.level_conflicts

    def length(value: float) -> str:
        return units.write(_on_rule(value), Dimension.LENGTH, style)

    def level(value: float) -> str:
        return units.write(value, Dimension.LENGTH, style, elevation=True)

    def point(at: XY) -> list[str]:
        return [level(at[0]), level(at[1])]

    def known(path: str) -> bool:
        return scheme.origin.get(path) != "missing"

    def put(table: str, id: str, values: Mapping[str, Any]) -> None:
        entry = out.setdefault(table, {}).setdefault(id, {})
        for key, value in values.items():
            # the stand-in for a measurement is never adopted: it still has to be taken
            stands_in = scheme.origin.get(f"{id}.{FIGURE_OF.get(key, key)}") == "missing"
            if value is not None and key not in entry and not stands_in:
                entry[key] = value

    for spout in scheme.downspouts:
        if scheme.origin.get(f"{spout.id}.width_m") == "designed":
            sizes = (
                {"diameter": length(spout.width_m)}
                if spout.shape == "round"
                else {"width": length(spout.width_m), "breadth": length(spout.breadth_m)}
            )
            put("downspouts", spout.id, {"shape": spout.shape, **sizes})
        gutter = spout.gutter
        if gutter is not None and scheme.origin.get(f"{gutter.id}.depth_m") == "designed":
            out.setdefault("gutters", {}).setdefault(gutter.id, {}).pop("shape", None)
            put(
                "gutters",
                gutter.id,
                {
                    "shape": gutter.shape,
                    "top_width": length(gutter.top_width_m),
                    "bottom_width": length(gutter.bottom_width_m),
                    "depth": length(gutter.depth_m),
                },
            )
    for wye in scheme.wyes:
        put("wyes", wye.id, {"at": point(wye.at)})
    for basin in scheme.basins:
        put(
            "basins",
            basin.id,
            {
                "at": point(basin.at),
                ("diameter" if basin.shape == "round" else "width"): length(basin.width_m)
                if known(f"{basin.id}.width_m")
                else None,
                "shape": basin.shape if known(f"{basin.id}.width_m") else None,
                "floor": level(basin.floor_m),
                "grate": level(basin.grate_m),
                "hood": basin.hood,
                "hood_air_hole": basin.hood_air_hole if basin.hood else None,
            },
        )
    for run in scheme.runs:
        put(
            "runs",
            run.id,
            {
                "from": run.from_id,
                "to": run.to_id,
                "path": [point(at) for at in run.path],
                "pipe": run.pipe,
                "nominal": length(run.nominal_m),
                "upstream_invert": level(run.upstream_invert_m) if fits else None,
                "downstream_invert": level(run.downstream_invert_m) if fits else None,
            },
        )
        if not fits:
            continue
        if "slope" in out["runs"][run.id] and _both_inverts(document, run.id):
            continue
        out["runs"][run.id].pop("slope", None)
    for well in scheme.wells:
        pit = (
            {"pit_diameter": length(well.pit_width_m)}
            if well.pit_shape == "round"
            else {"pit_length": length(well.pit_length_m), "pit_width": length(well.pit_width_m)}
        )
        put(
            "wells",
            well.id,
            {
                "at": point(well.at) if known(f"{well.id}.at") else None,
                **_bodies(well, scheme.origin, length),
                "pit_shape": well.pit_shape if known(f"{well.id}.pit_width_m") else None,
                "direction": units.write(well.direction_rad, Dimension.ANGLE, style),
                "bottom": level(well.bottom_m),
                **_link(scheme, well.id, length, level),
                "stone": well.stone,
                "geotextile": list(well.geotextile),
                **_fabric(well),
                **pit,
            },
        )
    for overflow in scheme.overflows:
        put(
            "overflows",
            overflow.id,
            {
                "of": overflow.of,
                "kind": overflow.kind,
                "at": point(overflow.at),
                "lip": level(overflow.lip_m) if known(f"{overflow.id}.lip_m") else None,
                "diameter": length(overflow.diameter_m) if known(f"{overflow.id}.diameter_m") else None,
                "length": length(overflow.length_m) if overflow.length_m > 0 else None,
            },
        )
    for outlet in scheme.outlets:
        put("outlets", outlet.id, {"invert": level(outlet.invert_m)})
    return out


def _link(
    scheme: Scheme, well: str, length: Callable[[float], str], level: Callable[[float], str | None]
) -> dict[str, Any]:
    """Return the pipe to another well, as the document calls it."""
    link = next((link for link in scheme.links if link.of == well), None)
    if link is None:
        return {}
    return {"link_invert": level(link.invert_m), "link_nominal": length(link.nominal_m)}


def _fabric(well: Well) -> dict[str, Any]:
    """Return the geotextile, as the document calls it: its opening in millimeters, as its sheet has it."""
    if well.fabric is None:
        return {}
    return {
        "geotextile_class": well.fabric.strength_class,
        "geotextile_opening": f"{well.fabric.opening_m * 1000:.6g} mm",
        "geotextile_permittivity": f"{well.fabric.permittivity_per_s:.6g} per s",
    }


def _bodies(well: Well, origin: Mapping[str, Origin], length: Callable[[float], str]) -> dict[str, Any]:
    """Return what lies in the stone, as the document calls it; heights of stone only where they were designed."""

    def if_designed(name: str, value: float) -> str | None:
        return length(value) if origin.get(f"{well.id}.{name}") == "designed" else None

    if well.body == "none":
        return {"body": well.body, "stone_depth": if_designed("stone_below_m", well.stone_below_m)}
    out: dict[str, Any] = {
        "body": well.body,
        "bodies": well.bodies,
        "body_wall": length(well.body_wall_m) if well.body_wall_m > 0 else None,
        "body_spacing": length(well.body_spacing_m),
        "hole_diameter": length(well.hole_diameter_m) if well.hole_diameter_m > 0 else None,
    }
    if well.body in ("cylinder", "perforated pipe"):
        out["body_diameter"] = length(well.body_diameter_m)
    else:
        out["body_width"] = length(well.body_diameter_m)
    if well.body != "perforated pipe":
        out["body_height"] = length(well.body_height_m)
    if well.body != "cylinder":
        out["body_length"] = length(well.body_length_m)
        out["piece_length"] = length(well.piece_length_m) if well.piece_length_m > 0 else None
        out["stone_below"] = if_designed("stone_below_m", well.stone_below_m)
    return out


def _both_inverts(document: Mapping[str, Any], run: str) -> bool:
    given = document.get("runs", {}).get(run, {})
    return "upstream_invert" in given and "downstream_invert" in given


_SIXTEENTH_M = Fraction(127, 80000)


def _on_rule(value_m: float) -> float:
    """Return a length that sums left a hair beside a sixteenth of an inch as the sixteenth itself."""
    nearest = float(round(value_m / float(_SIXTEENTH_M)) * _SIXTEENTH_M)
    return nearest if abs(nearest - value_m) < 1e-12 else value_m
