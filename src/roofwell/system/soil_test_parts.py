"""What every soil test shares: its readings, the remarks on how it was made, and how it becomes a fact."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics.soil import infiltration, spread
from roofwell.system.facts import SoilTest
from roofwell.system.soil_ground import in_low_water, listed, smears, two_systems
from roofwell.units import Quantity

FACES = "what wall and floor of the hole take in, capillary pull of the soil around it included"
CAPILLARITY = "capillarity taken out by class (Elrick-Reynolds)"
RATE_IS_IT = "the rate itself"
NO_MORE_THAN = (
    "no more than the rate: the hole is too flat or too slender for the shape factors, or of no given size"
)


@dataclass(slots=True)
class Readings:
    """What the readings of one test come to: rates and conductivities in order, the last one governs."""

    rates: list[float] = field(default_factory=list)
    conductivities: list[tuple[float, ...]] = field(default_factory=list)  # finer class, class, coarser class


def si(quantity: Quantity | None) -> float | None:
    """Return the SI value of a leaf, None where it is left out."""
    return quantity.value_si if quantity is not None else None


def wanted() -> int:
    """Return how many readings show whether a test was steady."""
    return round(tables.assumption("falls-wanted").value_si)


def steady_remark(rates: Sequence[float], what: str) -> str | None:
    """Say that there are too few readings, or that the last ones do not agree."""
    if len(rates) < wanted():
        return f"fewer than three {what}: it cannot be seen whether the rate was steady"
    within = tables.assumption("steady-within")
    if spread.is_steady(rates[-wanted() :], within.value_si):
        return None
    return f"the last three {what} do not agree within {within.text}: read on until they do"


def standing_remark(rates: Sequence[float]) -> str | None:
    """Say that the water did not fall."""
    if rates[-1] > 0:
        return None
    return "the water stood still: this soil takes nothing, and no well empties into it"


def day_remark(job: model.Job, day: date | None) -> str | None:
    """Say that the test was made while groundwater stood low."""
    if not in_low_water(day, job.place.latitude):
        return None
    return "made in the months of low groundwater: look for the water again in the wet season"


def presoak_remark(presoaked: bool | None) -> str | None:
    """Say that the hole was not soaked."""
    if presoaked is True:
        return None
    return "not said to be presoaked: a dry hole drinks faster than the soil will later"


def smear_remark(job: model.Job, scratched: bool | None, depth_m: float | None) -> str | None:
    """Say that an auger may have closed the wall."""
    if scratched is True or (scratched is None and not smears(job.soil, depth_m)):
        return None
    said = "were not" if scratched is False else "are not said to have been"
    return (
        f"the walls {said} scratched open: an auger smears this soil, and a smeared wall takes in too little"
    )


def units_remark(lengths: Sequence[Quantity | None]) -> str | None:
    """Say that two systems of units stand in one test."""
    if not two_systems(lengths):
        return None
    return "readings in inches and in metric units both: look whether that is meant"


def warmth_of(job: model.Job, given: Quantity | None) -> tuple[float, float, str | None]:
    """Return factors for the rate (to the well's own water) and the conductivity (to 20 C), and a remark."""
    wanted = job.soil.water_temperature
    if given is None:
        return 1.0, 1.0, None
    at20 = infiltration.rate_at_temperature(rate_m_s=1.0, test_c=given.value_si)
    if wanted is None:
        return 1.0, at20, None
    factor = infiltration.rate_at_temperature(rate_m_s=1.0, test_c=given.value_si, wanted_c=wanted.value_si)
    return factor, at20, f"tested in water of {given.text}, brought to {wanted.text}: times {factor:.2f}"


def in_range(conductivity: Callable[[float], float], alphas: Sequence[float]) -> tuple[float, ...]:
    """Return conductivity for each class; none where the hole is too flat or too slender for the shape factors."""
    try:
        return tuple(conductivity(alpha) for alpha in alphas)
    except InputError:
        return ()


def reduced_test(
    id: str,
    method: str,
    found: Readings,
    *,
    measures: str,
    remarks: Sequence[str | None],
    warmth: tuple[float, float, str | None],
    depth_m: float | None,
    method_k: str = CAPILLARITY,
    other: tuple[float, str] | None = None,
    governing: int = -1,
    well: str | None = None,
    kind: str,
) -> SoilTest:
    """Return the test as a fact: the governing reading's rate and conductivity, the range of the last ones."""
    factor, at20, said = warmth
    latest = found.rates[-wanted() :]
    known = [k for k in found.conductivities[-wanted() :] if k]
    own = found.conductivities[governing] if found.conductivities else ()
    return SoilTest(
        id,
        method,
        found.rates[governing] * factor,
        other[0] * factor if other is not None else None,
        other[1] if other is not None else "",
        listed([*remarks, said]),
        depth_m,
        kind=kind,
        measures=measures,
        low_m_s=min(latest) * factor,
        high_m_s=max(latest) * factor,
        conductivity_m_s=own[len(own) // 2] * at20 if own else None,
        conductivity_low_m_s=min(min(k) for k in known) * at20 if own else None,
        # a wetted face takes in no less than its soil conducts: the rate bounds it where the shape factors do not reach
        conductivity_high_m_s=max(max(k) for k in known) * at20 if own else found.rates[governing] * at20,
        conductivity_method=method_k if own else NO_MORE_THAN,
        well=well,
        conductivity_used_m_s=own[len(own) // 2] * factor if own else None,
    )
