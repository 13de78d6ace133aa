"""Rule files: what varies by place, one file for each permit office.

A rule file is TOML with ``rules = 1``. Any rule may be left out (the office says nothing about it) or be
``"ask the office"`` (it does, and nobody has asked yet). A number of a rule file stands nowhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date as Day
from pathlib import Path
from typing import Annotated, Any, Final, Literal, TypeAlias

from pydantic import Field

from roofwell.job.fields import QuantityOf, Table
from roofwell.job.files import beside, outside, shipped_rules, shipped_rules_folder
from roofwell.job.problems import Fault, Problem, leaves, shown
from roofwell.job.second_files import read_second
from roofwell.units import Dimension, Quantity

AskTheOffice: TypeAlias = Literal["ask the office"]
ASK: Final[AskTheOffice] = "ask the office"


@dataclass(frozen=True, slots=True)
class RuleQuantity(QuantityOf):
    """A quantity, or the word that it has to be asked for."""

    def read(self, value: Any) -> Any:
        """Read one rule; see ``QuantityOf.read``."""
        return ASK if value == ASK else QuantityOf.read(self, value)


Distance = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.LENGTH, "not negative")]
Depth = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.LENGTH, "positive")]
RuleTime = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.TIME, "positive")]
RuleRate = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.RATE, "positive")]
RuleSlope = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.SLOPE, "not negative")]
RuleFactor = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.RATIO, "positive")]
RuleStorm = Annotated[Quantity | AskTheOffice, RuleQuantity(Dimension.RETURN_PERIOD, "positive")]
Soakage = Literal[
    "bottom",
    "bottom and half sides",
    "bottom and sides",
    "sides",
    "sides half, no bottom",
    "unit gradient",
    "three-dimensional",
    "ask the office",
]


class Setbacks(Table):
    """``[setbacks]``: least distance in plan from the edge of a well's pit."""

    building: Distance | None = None
    neighbor_building: Distance | None = None
    lot_line: Distance | None = None
    septic_tank: Distance | None = None
    leach_field: Distance | None = None
    drinking_water_well: Distance | None = None
    slope_crest: Distance | None = None
    tree: Distance | None = None
    utility: Distance | None = None


class WellRules(Table):
    """``[well]``: what a dry well must keep to."""

    separation: Distance | None = None
    hours_to_empty: RuleTime | None = None
    least_rate: RuleRate | None = None
    most_rate: RuleRate | None = None
    safety_factor: RuleFactor | None = None
    soakage: Soakage | None = None
    freeboard: Distance | None = None
    deepest_pit: Depth | None = None


class StormRules(Table):
    """``[storm]``: the storm that must be held."""

    return_period: RuleStorm | None = None
    duration: RuleTime | None = None


class PipeRules(Table):
    """``[pipe]``: buried pipe: its least slope, its cover, its distance to what it crosses."""

    least_slope: RuleSlope | None = None
    cover_lawn: Distance | None = None
    cover_walk: Distance | None = None
    cover_drive: Distance | None = None
    crossing_clearance: Distance | None = None


class DischargeRules(Table):
    """``[discharge]``: where water that is not soaked in may come out."""

    to_lot_line: Distance | None = None
    to_building: Distance | None = None


class RuleFile(Table):
    """The rules of one permit office, version 1."""

    rules: Literal[1]
    office: str
    dated: Day
    invented: bool | None = None
    address: str | None = None
    phone: str | None = None
    setbacks: Setbacks = Setbacks()
    well: WellRules = WellRules()
    storm: StormRules = StormRules()
    pipe: PipeRules = PipeRules()
    discharge: DischargeRules = DischargeRules()
    clauses: dict[str, str] = Field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def rule(self, path: str) -> Quantity | str | None:
        """Return the rule at ``path`` (``setbacks.building``): a quantity, a word, or ``None``."""
        section, _, name = path.partition(".")
        value: Quantity | str | None = getattr(getattr(self, section), name)
        return value

    def setback(self, kind: str) -> Quantity | AskTheOffice | None:
        """Return the setback to a kind of feature as the job names it (``septic tank``, ``building``)."""
        name = SETBACK_TO.get(kind, kind)
        if name not in Setbacks.model_fields or name in Table.model_fields:
            return None
        value: Quantity | AskTheOffice | None = getattr(self.setbacks, name)
        return value

    @property
    def safety_factor(self) -> float | None:
        """The number by which a tested rate is divided, ``None`` if left out or still to be asked."""
        value = self.well.safety_factor
        return value.value_si if isinstance(value, Quantity) else None

    def values(self) -> Mapping[str, Quantity]:
        """Return the rules that stand in for leaves of ``[targets]`` or ``[settings]``, by leaf."""
        found = {leaf: self.rule(path) for leaf, path in STANDS_FOR.items()}
        return {leaf: value for leaf, value in found.items() if isinstance(value, Quantity)}

    def to_ask(self) -> tuple[str, ...]:
        """Return the paths of every rule for which the office still has to be asked."""
        return tuple(path for path in rule_paths() if self.rule(path) == ASK)


SETBACK_TO = {
    "neighbor's building": "neighbor_building",
    "lot line": "lot_line",
    "septic tank": "septic_tank",
    "leach field": "leach_field",
    "drinking-water well": "drinking_water_well",
    "slope crest": "slope_crest",
}
STANDS_FOR = {
    "storm": "storm.return_period",
    "storm_duration": "storm.duration",
    "hours_to_empty": "well.hours_to_empty",
    "freeboard": "well.freeboard",
    "cover_lawn": "pipe.cover_lawn",
    "cover_walk": "pipe.cover_walk",
    "cover_drive": "pipe.cover_drive",
    "crossing_clearance": "pipe.crossing_clearance",
}
SECTIONS: dict[str, type[Table]] = {
    "setbacks": Setbacks,
    "well": WellRules,
    "storm": StormRules,
    "pipe": PipeRules,
    "discharge": DischargeRules,
}


def rule_paths() -> tuple[str, ...]:
    """Return the path of every rule that a rule file may hold."""
    return tuple(
        f"{section}.{name}"
        for section, model in SECTIONS.items()
        for name in leaves(model)
        if name not in ("unit", "note")
    )


def load_rules(name: str, folder: Path | None) -> tuple[RuleFile | None, tuple[Problem, ...]]:
    """Read a rule file: a shipped one by its id, or a file inside ``folder`` by its name.

    Returns
    -------
    The rules, with every good rule; ``None`` if the file is not there, is no rule file of version 1 or
    lacks what every rule file needs. And the problems, whose paths begin with the name of the file. Never
    raises for the content of the file.
    """
    file = shipped_rules(name)
    if file is None:
        reason = outside(name)
        if reason is not None:
            return None, (Problem("place.rules", None, shown(name), reason, "file-outside"),)
        file = beside(name, folder) if folder is not None else None
    if file is None:
        message = (
            f"no such rule file beside the job, and none is shipped under this id ({', '.join(shipped())})"
        )
        return None, (Problem("place.rules", None, shown(name), message, "file-missing"),)
    return read_second(RuleFile, file, name=name, version_key="rules", faults=_faults)


def shipped() -> tuple[str, ...]:
    """Return the ids of the rule files that come with Roofwell."""
    files = shipped_rules_folder().iterdir()
    return tuple(sorted(f.name.removesuffix(".toml") for f in files if f.name.endswith(".toml")))


def _faults(rules: RuleFile) -> list[Fault]:
    known = set(rule_paths())
    return [
        Fault(("clauses", path), "name a rule of this file, such as setbacks.building", "no-such-rule",
              (("clauses", path),))
        for path in rules.clauses
        if path not in known
    ]  # fmt: skip
