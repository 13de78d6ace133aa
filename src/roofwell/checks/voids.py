"""5. Does it hold and soak away? Voids of the stone, and void ratio, which is another thing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.physics.well.filter import void_ratio_of_porosity


@check(
    "stone-voids",
    question=5,
    value="voids of the stone of {}",
    about=(
        "Voids of the stone that the job gives, as a share of the whole volume: above 42 % only if they were measured "
        "(wells.ID.voids_from). Below 30 % it is close, and the finding tells voids and void ratio apart: many papers "
        "write void ratio 0.40 and mean 40 % voids, while a void ratio of 0.40 is 29 %."
    ),
    digging=False,
)
def stone_voids(context: Context) -> Iterator[Measured]:
    """Voids that are assumed are in the table's own range and not judged."""
    most, least = tables.limit("voids-most"), tables.limit("voids-least")
    for well in context.scheme.wells:
        given = context.job.wells.get(well.id)
        if given is None or context.scheme.origin.get(f"{well.id}.voids") != "given":
            continue
        share = units.show_percent(well.voids)
        as_ratio = f"{void_ratio_of_porosity(well.voids):.2f}" if well.voids < 1 else "no"
        said = f"{share} voids (a void ratio of {as_ratio})"
        low = well.voids < least.value_si
        if low and given.void_ratio is not None:
            sentence = (
                f"The void ratio of {given.void_ratio:g} of {well.id} is {share} voids, less than clean stone has. Papers "
                f"often write void ratio {given.void_ratio:g} and mean {given.void_ratio:.0%} voids: if so, write voids = "
                f'"{given.void_ratio * 100:g} %".'
            )
        elif low:
            sentence = (
                f"{well.id} is counted with {said}: that holds for dirty or mixed stone, and holds less than clean stone "
                "of one size."
            )
        elif well.voids > most.value_si and given.voids_from is None:
            sentence = (
                f"{well.id} is counted with {said}, more than plain stone has without a test. If {share} is the void "
                f"ratio, write void_ratio = {well.voids:g}: that is {units.show_percent(well.voids / (1 + well.voids))} "
                "voids. Else pour water into a bucket of the stone and write voids_from."
            )
        else:
            by = f", {given.voids_from}" if given.voids_from is not None else ""
            sentence = f"{well.id} is counted with {said}{by}."
        yield Measured(
            subject=well.id,
            value=well.voids,
            op="at most",
            limit=1.0 if given.voids_from is not None else most.value_si,
            scale=0.0,
            uncertainty=math.inf if low else 0.0,
            show=units.show_percent,
            limit_text="as measured" if given.voids_from is not None else None,
            sentence=sentence,
            source=most.source,
        )
