"""What the tested rate is divided by: the job's, the office's, that of a consequence, else the usual one."""

from __future__ import annotations

from roofwell import tables, units
from roofwell.job import model
from roofwell.job.rules import RuleFile
from roofwell.system.facts import AssumedValue
from roofwell.system.ledger import Ledger

PATH = "soil.safety_factor"
CONSEQUENCES = {
    "none": "no damage and no inconvenience",
    "minor": "minor damage or inconvenience",
    "building damage": "damage to a building",
}


def by_consequence(roof_m2: float) -> dict[str, tuple[float, str]]:
    """Return the published factor and its source for each consequence, for a roof area (m², 0 or more).

    A roof just as large as a row's end counts in that row.
    """
    rows = tables.rows("safety_factors")
    row = next(
        row
        for row in rows
        if not row["up_to"] or roof_m2 <= units.parse(row["up_to"], units.Dimension.AREA).value_si + 1e-9
    )
    return {name: (float(row[name]), row["source"]) for name in CONSEQUENCES}


def safety_factor(
    soil: model.Soil, rules: RuleFile | None, roof_m2: float, ledger: Ledger
) -> tuple[float, tuple[str, ...]]:
    """Return the factor that counts, and what is to be said about it.

    The job's own counts first and the office's next; a factor of the job that changes another one is told with its
    reason, or that it has none. ``roof_m2``: all roof that is measured, for the table by consequence.
    """
    office = rules.safety_factor if rules is not None else None
    if soil.safety_factor is not None:
        return ledger.given(PATH, soil.safety_factor), _own(soil, office, roof_m2, ledger)
    if office is not None:
        return ledger.given(PATH, office), _less_than_table(soil, office, roof_m2, "the office asks for")
    if soil.consequence is not None:
        factor, source = by_consequence(roof_m2)[soil.consequence]
        area = units.show_area(roof_m2, ledger.style)
        said = AssumedValue(
            PATH,
            f"{factor:g}",
            "the tested soil rate is divided by this, published for "
            f"{CONSEQUENCES[soil.consequence]} where it fails and {area} of roof",
            "say what water does that the well does not take: soil.consequence; or write soil.safety_factor with its "
            "reason",
            source,
        )
        return ledger.assume_row(said, factor), ()
    return ledger.assume(PATH, "soil-safety-factor"), ()


def _own(soil: model.Soil, office: float | None, roof_m2: float, ledger: Ledger) -> tuple[str, ...]:
    """What is said of a factor that the job writes itself; nothing where it changes nothing."""
    own = soil.safety_factor
    assert own is not None
    told: tuple[str, ...] = ()
    if office is not None:
        other, whose = office, "the office asks for"
        told = _less_than_table(soil, own, roof_m2, "the job takes")
    elif soil.consequence is not None:
        other, whose = by_consequence(roof_m2)[soil.consequence][0], "the published table gives"
    else:
        other, whose = tables.assumption("soil-safety-factor", ledger.style).value_si, "is usual"
    if own == other:
        return told
    than = f"{'less' if own < other else 'more'} than the {other:g} that {whose}"
    reason = (soil.safety_factor_reason or "").strip().rstrip(".")
    why = f"because: {reason}" if reason else "and no reason is given: write soil.safety_factor_reason"
    return (f"the job divides by {own:g} for safety, {than}, {why}", *told)


def _less_than_table(soil: model.Soil, factor: float, roof_m2: float, whose: str) -> tuple[str, ...]:
    if soil.consequence is None:
        return ()
    wanted = by_consequence(roof_m2)[soil.consequence][0]
    if factor >= wanted:
        return ()
    return (
        f"{CONSEQUENCES[soil.consequence]}, as soil.consequence says, is published with a safety factor of {wanted:g}; "
        f"{whose} {factor:g}",
    )
