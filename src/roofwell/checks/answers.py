"""The nine answers: each takes the worst of its findings."""

from __future__ import annotations

from roofwell import units
from roofwell.checks import built
from roofwell.checks.absent import absent
from roofwell.checks.beyond_words import chance_detail, held_sentence
from roofwell.checks.finding import QUESTIONS, WORST_FIRST, Answer, Finding, worst
from roofwell.checks.paths import paved_words, route_words
from roofwell.checks.record_words import record_detail, record_sentence
from roofwell.checks.register import NEVER_OVERRULED_CODES, REGISTER, Context, find
from roofwell.checks.rests_on import rests_on
from roofwell.takeoff.quantities import Takeoff

HEADLINE = {
    1: ("all-roof-drained", "rain-of-this-place"),
    2: ("levels-fit", "pipe-cover", "pipe-slope"),
    3: ("water-below-opening", "water-below-grate", "water-in-storm", "pipe-capacity", "outlet-capacity"),
    4: ("basin-before-well", "basin-capture", "floating-kept", "basin-sump"),
    5: ("storm-held", "well-drain-down"),
    6: ("order-of-heights", "overflow-destination", "overflow-capacity"),
    7: ("setback", "separation"),
    8: ("within-budget",),
    9: (),
}


def answer_all(context: Context) -> tuple[Answer, ...]:
    """Run every check and give the nine answers."""
    measured = find(context)
    findings = (*measured, *absent(context, measured))
    return tuple(
        _answer(context, number, [f for f in findings if f.question == number]) for number in QUESTIONS
    )


def _answer(context: Context, number: int, findings: list[Finding]) -> Answer:
    verdict = worst(finding.verdict for finding in findings)
    governing = _governing(number, findings)
    sentence = governing.sentence if governing is not None else _nothing(context, number)
    detail = governing.detail if governing is not None else ""
    if number == 5 and governing is not None:
        sentence = " ".join(filter(None, [sentence, record_sentence(context), held_sentence(context)]))
        detail = " ".join(filter(None, [detail, record_detail(context), chance_detail(context)]))
    if number == 8:
        sentence = _takes(context)
        detail = route_words(context)
    codes = [check.code for check in REGISTER.values() if check.question == number]
    assumed = dict.fromkeys(path for code in codes for path in rests_on(code, context.assumed))
    return Answer(
        number, QUESTIONS[number], verdict, governing, sentence, tuple(findings), tuple(assumed), detail
    )


def _governing(number: int, findings: list[Finding]) -> Finding | None:
    """The worst finding; among equals the one that the question is about, then the least relative margin.

    Water that would come into the house goes before everything else that fails.
    """
    if not findings:
        return None
    order = HEADLINE[number]

    def key(finding: Finding) -> tuple[int, int, float]:
        place = order.index(finding.code) if finding.code in order else len(order)
        if finding.verdict == "fails" and finding.code in NEVER_OVERRULED_CODES:
            place = -1
        scale = abs(finding.limit) or 1.0
        margin = finding.spare / scale if finding.spare == finding.spare else 0.0
        return WORST_FIRST.index(finding.verdict), place, margin

    return min(findings, key=key)


def _nothing(context: Context, number: int) -> str:
    if number == 9:
        if not _stands(context):
            return built.SENTENCE
        return built.STANDS if context.scheme.wells else built.STANDS_DRY
    if number == 5 and context.scheme.outlets:
        return "No well: the water leaves by an outlet."
    return "Nothing to judge."


def _stands(context: Context) -> bool:
    """Say whether all that carries or holds water stands already: then nothing is bought and nothing dug."""
    scheme = context.scheme
    return not context.takeoff.items and bool(scheme.runs or scheme.wells or scheme.basins)


def _takes(context: Context) -> str:
    takeoff = context.takeoff
    style = context.survey.style
    if not takeoff.items:
        if not _stands(context):
            return "Nothing to count yet: no part of the system is known."
        return "Everything stands already: nothing to buy, nothing to dig."
    paved = paved_words(context)
    return f"{_amounts(takeoff, style, context.takeoff_large)}.{f' {paved}' if paved else ''}"


def _amounts(takeoff: Takeoff, style: units.Style, largest: Takeoff | None = None) -> str:
    """Stone, digging, hours and price; with ``largest``, as ranges: nobody must quote the smallest."""
    ends = (takeoff,) if largest is None else (takeoff, largest)
    stone = _from_to([units.show_mass(one.stone_kg, style) for one in ends])
    dug = _from_to([units.show_bulk_volume(one.excavation_m3, style) for one in ends])
    hours = _from_to([f"{one.hours:.0f} hours" for one in ends])
    words = f"{stone} of stone, {dug} to dig, {hours}{' of work' if largest is None else ''}"
    prices = [units.show_money(one.price) for one in ends if one.price is not None]
    if len(prices) < len(ends):
        count = max(len(one.unpriced) for one in ends)
        return f"{words}; {'one item has' if count == 1 else f'{count} items have'} no price"
    note = ""
    if takeoff.prices_invented:
        note = ", at invented prices" if largest is None else " (invented prices)"
    return f"{words}: {' to '.join(dict.fromkeys(prices))}{note}"


def _from_to(ends: list[str]) -> str:
    """Write ``6 to 11.5 tons``: the unit once, and one figure where both ends are the same."""
    if len(ends) == 1:
        return ends[0]
    first, last = (_whole(end) for end in ends)
    if first == last:
        return first
    number, _, unit = first.partition(" ")
    return f"{number if last.endswith(f' {unit}') else first} to {last}"


def _whole(amount: str) -> str:
    """Write ``14.2 cu yd`` as ``14 cu yd``: an end of a range is not known to a tenth."""
    number, space, unit = amount.partition(" ")
    value = float(number.replace(",", ""))
    return f"{value:,.0f}{space}{unit}" if value >= 10 else amount
