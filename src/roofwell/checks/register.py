"""The register of checks: a code, a question, the leaves it needs, and the function that measures."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from roofwell.checks.finding import Finding, Op, Overruled, in_order, judge, spare_of
from roofwell.checks.rests_on import rests_on
from roofwell.job import model
from roofwell.job.rules import ASK
from roofwell.system.behaviour import Behaviour
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.takeoff.quantities import Takeoff
from roofwell.units import Quantity

NEVER_OVERRULED_QUESTIONS = (7,)
# Whoever needs the roof that drains to a downspout needs to know the gutter between them.
IMPLIED = {"roofs": ("downspouts.gutter",)}
NEVER_OVERRULED_CODES = (
    "water-below-opening",
    "overflow-below-opening",
    "spill-below-opening",
    "blocked-below-opening",
)


@dataclass(frozen=True, slots=True)
class Context:
    """Everything that a check may look at. ``low`` and ``high``: behaviour with the slowest and fastest soil.

    ``takeoff_large``: of the largest of the range, where a missing measurement leaves sizes open.
    """

    job: model.Job
    survey: Survey
    scheme: Scheme
    behaviour: Behaviour
    low: Behaviour | None
    high: Behaviour | None
    takeoff: Takeoff
    takeoff_large: Takeoff | None = None

    @property
    def assumed(self) -> tuple[str, ...]:
        """Paths of all values that are assumed, each once."""
        both = (*self.survey.assumed, *self.scheme.assumed)
        return tuple(dict.fromkeys(item.path for item in both))

    @property
    def missing(self) -> frozenset[str]:
        """All leaves whose measurement is missing."""
        return self.survey.missing | self.scheme.missing


@dataclass(frozen=True, slots=True)
class Measured:
    """What a check found for one part, before its verdict. Numbers in SI, ``show`` writes them."""

    subject: str
    value: float
    op: Op
    limit: float
    scale: float
    show: Callable[[float], str]
    sentence: str
    source: str
    low: float | None = None
    high: float | None = None
    uncertainty: float | None = None
    also_missing: tuple[str, ...] = ()
    limit_text: str | None = None
    value_text: str | None = None
    detail: str = ""
    fixed: bool = False  # no typed reason sets it aside, whatever its check


Function = Callable[[Context], Iterator[Measured]]


@dataclass(frozen=True, slots=True)
class Check:
    """One registered check; ``about`` is its text in docs, page and papers, ``value`` what its number is."""

    code: str
    question: int
    needs: tuple[str, ...]
    value: str
    about: str
    digging: bool
    function: Function


REGISTER: dict[str, Check] = {}


def check(
    code: str, *, question: int, needs: Iterable[str] = (), value: str, about: str, digging: bool = True
) -> Callable[[Function], Function]:
    """Register a check; ``needs`` are leaves of ``measurements.csv`` without which it reads ``unknown``.

    ``value``: what the number is, in a few words that stand beside it everywhere; ``{}`` stands for the part.
    """

    def add(function: Function) -> Function:
        REGISTER[code] = Check(code, question, tuple(needs), value, about, digging, function)
        return function

    return add


def setting_source(context: Context, name: str) -> str:
    """Return the key of the source of a setting that a check takes as its limit: rule file, job or assumption."""
    assumed = next((item.source for item in context.survey.assumed if item.path == f"settings.{name}"), None)
    if assumed is not None:
        return assumed
    return "own-choice" if getattr(context.job.settings, name) is not None else "rule-file"


@dataclass(frozen=True, slots=True)
class OfficeLimit:
    """A limit that only the rule file sets; NaN, and what is missing, where it says to ask the office."""

    value: float
    scale: float
    text: str | None
    missing: tuple[str, ...]


def office_limit(rule: Quantity | str) -> OfficeLimit:
    """Return a rule of the rule file as the limit of a check."""
    if isinstance(rule, Quantity):
        return OfficeLimit(rule.value_si, rule.value_si, None, ())
    return OfficeLimit(math.nan, 0.0, ASK, ("place.rules",))


def value_of(code: str, subject: str) -> str:
    """Return what the number of a finding is: "soil over P3"; no number says by itself what it measures."""
    value = REGISTER[code].value
    if "{}" in value:
        return value.format(subject)
    return f"{value}, {subject}" if any(sign.isdigit() for sign in subject) else value


def _wanted(limit: str) -> str:
    """Return a limit as it stands behind its number; one that is no comparison is told as what is wanted."""
    compares = limit.startswith((ASK, "at least", "at most", "below", "above"))
    return limit if compares else f"wanted: {limit}"


def never_overruled(code: str) -> bool:
    """Say whether findings of a check can never be set aside: law and safety, water above an opening."""
    return REGISTER[code].question in NEVER_OVERRULED_QUESTIONS or code in NEVER_OVERRULED_CODES


def find(context: Context) -> tuple[Finding, ...]:
    """Run every check on everything; findings in the order of the questions."""
    overrules = {(item.check, item.subject): item for item in context.job.overrules}
    assumed, missing = context.assumed, context.missing
    out = []
    for item in sorted(REGISTER.values(), key=lambda check: check.question):
        for measured in item.function(context):
            out.append(_finding(item, measured, assumed, missing, overrules))
    return tuple(out)


def _finding(
    item: Check,
    measured: Measured,
    assumed: tuple[str, ...],
    missing: frozenset[str],
    overrules: Mapping[tuple[str, str | None], model.Overrule],
) -> Finding:
    needs = (*item.needs, *(leaf for need in item.needs for leaf in IMPLIED.get(need, ())))
    lacking = [leaf for leaf in (*needs, *measured.also_missing) if leaf in missing]
    extra = [leaf for leaf in measured.also_missing if leaf not in missing]
    wanted = list(dict.fromkeys([*lacking, *extra]))
    verdict = judge(
        value=measured.value,
        op=measured.op,
        limit=measured.limit,
        scale=measured.scale,
        uncertainty=measured.uncertainty,
        low=measured.low,
        high=measured.high,
        missing=bool(wanted),
    )
    spare = spare_of(measured.value, measured.op, measured.limit)
    number = not math.isnan(measured.value)
    value_text = measured.value_text or (measured.show(measured.value) if number else "not measured")
    if wanted and measured.low is not None and measured.high is not None and measured.low != measured.high:
        both = sorted((measured.low, measured.high))
        ends = [measured.show(end) for end in both if math.isfinite(end)]
        value_text = " to ".join(ends) if len(ends) == 2 else value_text
    limit_text = _wanted(measured.limit_text or f"{measured.op} {measured.show(measured.limit)}")
    if math.isfinite(spare) and measured.scale != 0.0:
        spare_text = f"{measured.show(abs(spare))} {'to spare' if spare >= 0 else 'short'}"
    else:
        spare_text = ""
    found = overrules.get((item.code, measured.subject)) or overrules.get((item.code, None))
    overruled = None
    if (
        found is not None
        and measured.source != "rule-file"
        and not (measured.fixed or never_overruled(item.code))
    ):
        overruled = Overruled(found.reason, found.who, found.date.isoformat())
    return Finding(
        code=item.code,
        question=item.question,
        subject=measured.subject,
        verdict=verdict,
        value=measured.value,
        low=measured.low,
        high=measured.high,
        op=measured.op,
        limit=measured.limit,
        spare=spare,
        value_text=value_text,
        limit_text=limit_text,
        spare_text="" if verdict == "unknown" else spare_text,
        sentence=measured.sentence,
        source=measured.source,
        missing=in_order(wanted) if verdict == "unknown" else (),
        assumed=rests_on(item.code, assumed),
        overruled=overruled,
        digging=item.digging,
        detail=measured.detail,
        fixed=measured.fixed,
        value_of=value_of(item.code, measured.subject),
    )
