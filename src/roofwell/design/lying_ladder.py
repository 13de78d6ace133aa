"""Choices of lying pipe, chambers and stone alone that are worth a try, and an estimate of what each digs.

As in ``ladder``: the estimate puts choices in order; none is accepted by it.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from roofwell import tables
from roofwell.job import model
from roofwell.physics.well.shapes import BodyKind
from roofwell.system.choice import BodyChoice, WellChoice
from roofwell.system.facts import Survey
from roofwell.system.roof_parts import length_of
from roofwell.system.well_shapes import across, kind_of
from roofwell.tables import search_ladder
from roofwell.units import Dimension, Style, parse


def lying_options(given: model.Well, survey: Survey) -> list[WellChoice]:
    """Return all choices for a well of lying bodies or of stone alone; given sizes are kept."""
    kind, style = kind_of(given), survey.style
    bodies = lying_bodies(given, style)
    rows = [given.bodies] if given.bodies else search_ladder.counts("rows")
    around = tables.assumption("stone-around", style).value_si
    shares = (1.0,) if given.pit_width is not None or given.pit_diameter is not None else surrounds(kind)
    if kind == "none":
        depths = sorted({body.height_m for body in bodies})
        width = bodies[0].diameter_m
        return [
            WellChoice(
                bodies[0],
                0,
                share * width / 2,
                length,
                given.stone_depth.value_si if given.stone_depth else depth,
            )
            for share, length, depth in product(
                shares, _lengths(given, 0.0, 0.0, style), depths[:1] if given.stone_depth else depths
            )
        ]
    usual = tables.assumption("stone-below", style).value_si
    beds: tuple[float | None, ...] = (None,)
    if kind == "perforated pipe" and given.stone_below is None:
        beds = tuple(usual * share for share in search_ladder.steps("beds"))
    return [
        WellChoice(body, count, around * share, length, bed)
        for body, count, share, bed in product(bodies, rows, shares, beds)
        for length in _lengths(
            given, body.piece_m if kind != "perforated pipe" else 0.0, around * share, style
        )
    ]


def lying_bodies(given: model.Well, style: Style) -> list[BodyChoice]:
    """Return the sizes of the trade, each with what the job gives of it."""
    made = [
        BodyChoice(
            row["key"],
            length_of(row["width"]),
            length_of(row["height"]),
            length_of(row["hole_diameter"]),
            length_of(row["wall"]),
            kind_of(given),
            length_of(row["piece"]),
        )
        for row in tables.rows("lying_bodies")
        if row["units"] == style and row["kind"] == kind_of(given)
    ]
    width, height = across(given), given.body_height
    piped = kind_of(given) == "perforated pipe"
    if width is None and (height is None or piped):
        return made
    fitting = [
        body for body in made if width is None or abs(body.diameter_m - width.value_si) < 1e-6
    ] or made[:1]
    out = []
    for body in fitting:
        across_m = width.value_si if width is not None else body.diameter_m
        high = across_m if piped else height.value_si if height is not None else body.height_m
        wall = 0.0 if width is not None else body.wall_m
        out.append(replace(body, diameter_m=across_m, height_m=high, wall_m=wall))
    return out[:1] if width is not None and (height is not None or piped) else out


def sides_m(option: WellChoice, style: Style) -> tuple[float, float]:
    """Estimate of the pit's length and width, m."""
    around = 2 * option.stone_around_m
    if option.body.kind == "none":
        return option.length_m, around
    spacing = option.body.diameter_m + tables.assumption("body-spacing-clear", style).value_si
    width = (option.bodies - 1) * spacing + option.body.diameter_m + around
    return option.length_m + around, width


def stone_height_m(option: WellChoice, style: Style) -> float:
    """Estimate of the height of body and bed together, m."""
    usual = tables.assumption("stone-below", style).value_si
    below = option.stone_below_m if option.stone_below_m is not None else usual
    return below if option.body.kind == "none" else below + option.body.height_m


def _lengths(given: model.Well, piece_m: float, around_m: float, style: Style) -> list[float]:
    """Lengths of a row, or of a bed; whole pieces of chambers."""
    if given.body_length is not None:
        return [given.body_length.value_si]
    if given.pit_diameter is not None:
        return [given.pit_diameter.value_si]
    if given.pit_length is not None:
        return [max(given.pit_length.value_si - 2 * around_m, 0.1)]
    if piece_m > 0:
        return [n * piece_m for n in search_ladder.counts("pieces")]
    step = parse(tables.assumption("lying-length-step", style).text, Dimension.LENGTH).exact
    return [float(n * step) for n in search_ladder.counts("lengths")]  # what its figure reads again


def surrounds(kind: BodyKind) -> tuple[float, ...]:
    """Return the stone around bodies of a kind that is worth a try, as multiples of the usual."""
    return search_ladder.steps(f"surround-{kind.replace(' ', '-')}")
