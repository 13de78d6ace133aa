"""4. Does it stay clean? Stone against holes and against bare soil."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables
from roofwell.checks import fabric_words as words
from roofwell.checks.register import Context, Measured, check
from roofwell.physics.well.filter import Against, stone_against_soil
from roofwell.physics.well.perforation import retention_ratio
from roofwell.system.grains import Grains
from roofwell.system.scheme import Well
from roofwell.system.stone_and_fabric import StoneSize, soil_beside_well, stone_size
from roofwell.system.well_words import body_word
from roofwell.tables.stones import stone_named


@check(
    "stone-over-hole",
    question=4,
    value="stone of {} over the size of its holes",
    about=(
        "Stone must not fall through the holes or slots of the well body: D85 of the stone over a hole above 1, over the "
        "width of a slot above 1.2. The middle of the stone's band is judged; where a load from its fine edge would fall "
        "through, it is close."
    ),
)
def stone_over_hole(context: Context) -> Iterator[Measured]:
    """Filter rule for holes; the fine edge of the band is the uncertainty."""
    for well in context.scheme.wells:
        opening = well.slot_width_m or well.hole_diameter_m
        stone = stone_named(well.stone)
        if opening <= 0 and stone is not None:
            continue
        limit = tables.limit("slot-ratio" if well.slot_width_m else "perforation-ratio")
        what = "slots" if well.slot_width_m else "holes"
        if stone is None:
            yield Measured(
                subject=well.id,
                value=math.nan,
                op="at least",
                limit=limit.value_si,
                scale=limit.value_si,
                show=lambda v: f"{v:.2f}",
                sentence=words.no_such_stone(well),
                source=limit.source,
                also_missing=("wells.stone",),
            )
            continue
        size = stone_size(stone, 0.85)
        ratio, fine = (
            retention_ratio(stone_d85_m=one, opening_m=opening) for one in (size.middle_m, size.fine_m)
        )
        edge = f" ({fine:.2f} times at the fine edge of what the name allows)" if fine < ratio else ""
        mend = ""
        if fine < limit.value_si:
            mend = (
                f" A fine load falls through. {words.coarser(context, well)} mends it, or a sleeve of geotextile round"
                f" the {body_word(well)}."
            )
        sentence = (
            f"{stone.what} is {ratio:.2f} times as large as the {what} of the {body_word(well)}{edge}.{mend}"
        )
        origins = {context.scheme.origin.get(f"{well.id}.{name}") for name in ("stone", "hole_diameter_m")}
        yield Measured(
            subject=well.id,
            value=ratio,
            op="at least",
            limit=limit.value_si,
            scale=limit.value_si,
            uncertainty=ratio - fine,
            show=lambda v: f"{v:.2f}",
            sentence=sentence[0].upper() + sentence[1:],
            source=limit.source,
            also_missing=("wells.size",) if "missing" in origins else (),
        )


@check(
    "stone-against-soil",
    question=4,
    value="stone against the soil of {}",
    about=(
        "Stone that lies against native soil without a geotextile, on sides or top, or on a bottom below the seasonal high "
        "water: D15 of the stone over D85 of the soil at most 5, and D50 over D50 at most 25. The grains of a soil that "
        "nobody sieved come from its texture, as a range. A bottom above the groundwater is not judged: there water only "
        "leaves. How much soil moves in cannot be said."
    ),
    digging=False,
)
def stone_against_bare_soil(context: Context) -> Iterator[Measured]:
    """The worse of the two rules for each well with a bare face; a lined one has nothing to judge."""
    for well in context.scheme.wells:
        bare = _bare_faces(context, well)
        if not bare:
            continue
        soil = soil_beside_well(context.job, well)
        stone = stone_named(well.stone)
        if stone is None or soil.d85_m is None:
            yield _cannot_say(well, bare, known_stone=stone is not None)
            continue
        d15, d50 = stone_size(stone, 0.15), stone_size(stone, 0.50)
        ratios = [_ratios(d15, d50, soil, which) for which in ("high", "best", "low")]
        first, middle = tables.limit("piping-ratio"), tables.limit("piping-ratio-middle")
        coarse, best, fine = (
            (ratio.d15_over_d85, ratio.d50_over_d50 if soil.d50_m is not None else 0.0) for ratio in ratios
        )
        worse = 1 if best[1] / middle.value_si > best[0] / first.value_si else 0
        limit = (first, middle)[worse]
        name = ("D15 of the stone over D85 of the soil", "D50 of the stone over D50 of the soil")[worse]
        yield Measured(
            subject=well.id,
            value=best[worse],
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            uncertainty=fine[worse] - best[worse] if soil.textures else None,
            show=lambda v: f"{v:.1f}",
            sentence=words.bare(well, bare, best[worse] <= limit.value_si, context.survey.style),
            source=limit.source,
            detail=(
                f"{name} {best[worse]:.1f}"
                + (f", {coarse[worse]:.1f} to {fine[worse]:.1f} by its texture" if soil.textures else "")
                + words.permeable(ratios[1], soil)
            ),
        )


def _bare_faces(context: Context, well: Well) -> tuple[str, ...]:
    """Faces without cloth through which soil water may carry soil into the stone."""
    faces = [face for face in ("sides", "top") if face not in well.geotextile]
    if well.stone_reaches != "buried" and "top" in faces:
        faces.remove("top")
    water = context.survey.soil.high_water_m
    if "bottom" not in well.geotextile and water is not None and water > well.bottom_m:
        faces.append("bottom")
    return tuple(faces)


def _ratios(d15: StoneSize, d50: StoneSize, soil: Grains, which: str) -> Against:
    assert soil.d85_m is not None
    d85 = getattr(soil.d85_m, which)
    half = min(getattr(soil.d50_m, which), d85) if soil.d50_m is not None else d85
    least = min(getattr(soil.d15_m, which), half) if soil.d15_m is not None else half
    return stone_against_soil(
        stone_d15_m=d15.middle_m,
        stone_d50_m=d50.middle_m,
        soil_d15_m=least,
        soil_d50_m=half,
        soil_d85_m=d85,
    )


def _cannot_say(well: Well, bare: tuple[str, ...], *, known_stone: bool) -> Measured:
    limit = tables.limit("piping-ratio")
    return Measured(
        subject=well.id,
        value=math.nan,
        op="at most",
        limit=limit.value_si,
        scale=limit.value_si,
        show=lambda v: f"{v:.1f}",
        sentence=(
            f"The stone of {well.id} lies against bare soil ({', '.join(bare)}); whether that soil moves into it depends "
            "on its grains. Geotextile there settles it."
            if known_stone
            else words.no_such_stone(well)
        ),
        source=limit.source,
        also_missing=("soil.grains",) if known_stone else ("wells.stone",),
    )
