"""The fill of an open pit before its stone goes in, and how water is brought: the same words on section and crew sheet."""

from __future__ import annotations

from roofwell import tables
from roofwell.design.result import Design
from roofwell.papers.texts import Say
from roofwell.system.scheme import Well
from roofwell.system.soil_need import FillTarget, fill_target


def fill_of(design: Design, well: Well) -> FillTarget | None:
    """Return the fill to be tried in a well's open pit; None where it stands, or its soil or sizes are still open."""
    given = design.job.wells.get(well.id)
    stands = given is not None and given.state == "existing"
    if stands or design.scheme_large is not None or not design.survey.soil.known:
        return None
    return fill_target(design.scheme, design.survey, design.behaviour.well(well.id))


def fill_words(target: FillTarget, say: Say) -> str:
    """Return what is done with the open pit, and when it may go on."""
    fill, end = say.length(target.start_m), say.length(target.end_m)
    return (
        f"Before the stone goes in: fill the pit {fill} deep ({say.volume(target.volume_m3)}), three times. Go, if the "
        f"last fill is down to {end} within {say.time(target.within_s)}; else go deeper or stop, and call the office."
    )


def brought(volume_m3: float, soaks_m3_s: float, say: Say) -> str:
    """Return how a volume of water, m³, gets there while the soil takes ``soaks_m3_s``: by hose, or not.

    The time is the least: that of the whole flow of a garden hose, with nothing soaking away meanwhile.
    """
    hose = tables.assumption("garden-hose-flow", say.style)
    if soaks_m3_s >= hose.value_si:
        return f"by tank truck or hydrant: the soil takes more than a garden hose brings, {hose.text}"
    return f"a garden hose takes {say.time(volume_m3 / hose.value_si)} or more, a tank truck or hydrant less"
