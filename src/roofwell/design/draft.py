"""The draft that a first visit ends with: how far the sizes are open, and which missing measurement is worth most.

The ranking is plain and says its rule: first the measurement between whose ends the sizes lie, then those that stand in
for what every size is counted from, then the rest by how many of the nine answers each holds open; equal ones in the order
in which the trade takes them. It does not know how much a stand-in is off, and does not pretend to.
"""

from __future__ import annotations

from dataclasses import dataclass

from roofwell import units
from roofwell.checks.finding import QUESTIONS, Finding, Measurement, in_order
from roofwell.design.result import Design
from roofwell.takeoff.quantities import Takeoff
from roofwell.units import Style

OPENS_SIZES = "soil.rate"
UNDER_EVERY_SIZE = (
    "roofs",
    "downspouts",
    "site.outlet",
    "wells.at",
    "survey.ground",
    "rain.place",
    "rain.storm",
)
RULE = (
    "First what decides the size, then what stands in for something that every size is counted from, then what holds most "
    "of the nine answers open."
)


@dataclass(frozen=True, slots=True)
class Worth:
    """A missing measurement and what it is worth. ``answers``: questions that it holds open; ``alone``: those of them
    that wait for nothing else."""

    leaf: str
    what: str
    how: str
    answers: tuple[int, ...]
    alone: tuple[int, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Draft:
    """How far the job is: sizes in words, digging and price as ranges, missing measurements, the most worth first.

    ``headline`` is "one to four wells; the soil decides" or its like; where nothing could be sized it says what is missing,
    and ``digging`` and ``price`` are empty. ``waits`` counts the answers, of the first seven, that are unknown.
    """

    headline: str
    digging: str
    price: str
    waits: int
    rule: str
    missing: tuple[Worth, ...]


def draft(design: Design) -> Draft:
    """Return the draft of a design."""
    style = design.survey.style
    both = tuple(take for take in (design.takeoff, design.takeoff_large) if take is not None)
    found = {
        answer.question: [f for f in answer.findings if f.verdict == "unknown" and f.overruled is None]
        for answer in design.answers
        if answer.question <= 7
    }
    waiting = {question: findings for question, findings in found.items() if findings}
    sized = bool(design.scheme.downspouts and (design.scheme.wells or design.scheme.outlets))
    ranked = _ranked(waiting, both if sized else (), style)
    return Draft(
        headline=_headline(design) if sized else _not_sized(ranked),
        digging=_digging(both, style) if sized else "",
        price=_price(both) if sized else "",
        waits=len(waiting),
        rule=RULE,
        missing=ranked,
    )


def _headline(design: Design) -> str:
    if design.open_sizes is not None:
        return design.open_sizes
    bodies = sum(well.bodies for well in design.scheme.wells)
    if bodies:
        return "one well" if bodies == 1 else f"{bodies} wells"
    return "no well: the water leaves by an outlet"


def _not_sized(ranked: tuple[Worth, ...]) -> str:
    first = [
        item.what for item in ranked if item.leaf in UNDER_EVERY_SIZE and not item.leaf.startswith("rain")
    ]
    return "no well can be sized yet" + (f"; missing: {', '.join(first)}" if first else "")


def _ends(texts: list[str], between: str) -> str:
    """Two figures with one unit: 22.3 to 57.8 cu yd."""
    ends = list(dict.fromkeys(texts))
    parts = [text.partition(" ") for text in ends]
    if len(ends) == 2 and parts[0][2] == parts[1][2]:
        return f"{parts[0][0]} {between} {ends[1]}"
    return f" {between} ".join(ends)


def _digging(both: tuple[Takeoff, ...], style: Style) -> str:
    if not any(take.excavation_m3 > 0 for take in both):
        return "nothing to dig"
    volumes = [units.show_bulk_volume(take.excavation_m3, style) for take in both]
    return f"{_ends(volumes, 'to')} to dig"


def _price(both: tuple[Takeoff, ...]) -> str:
    if not any(take.items for take in both):
        return "nothing to buy"
    prices = sorted(take.price for take in both if take.price is not None)
    if not prices:
        return ""
    invented = "at invented prices" if both[0].prices_invented else f"at the prices of {both[0].price_book}"
    return f"{_ends([units.show_money(price) for price in prices], 'to')} {invented}"


def _ranked(
    open_answers: dict[int, list[Finding]], both: tuple[Takeoff, ...], style: Style
) -> tuple[Worth, ...]:
    holds: dict[str, set[int]] = {}
    alone: dict[str, set[int]] = {}
    for question, found in open_answers.items():
        leaves = {item.leaf for finding in found for item in finding.missing}
        for leaf in leaves:
            holds.setdefault(leaf, set()).add(question)
        if len(leaves) == 1:
            alone.setdefault(leaves.pop(), set()).add(question)
    taken = in_order(holds)
    trade = {item.leaf: place for place, item in enumerate(taken)}

    def key(item: Measurement) -> tuple[int, int, int, int]:
        leaf = item.leaf
        first = 0 if leaf == OPENS_SIZES and _open(both) else 1 if leaf in UNDER_EVERY_SIZE else 2
        return first, -len(holds[leaf]), -len(alone.get(leaf, ())), trade[leaf]

    return tuple(
        Worth(
            item.leaf,
            item.what,
            item.how,
            tuple(sorted(holds[item.leaf])),
            tuple(sorted(alone.get(item.leaf, ()))),
            _words(item.leaf, sorted(holds[item.leaf]), sorted(alone.get(item.leaf, ())), both, style),
        )
        for item in sorted(taken, key=key)
    )


def _open(both: tuple[Takeoff, ...]) -> bool:
    return len({take.excavation_m3 for take in both}) > 1


def _words(leaf: str, held: list[int], alone: list[int], both: tuple[Takeoff, ...], style: Style) -> str:
    says = []
    if leaf == OPENS_SIZES and _open(both):
        volumes = [units.show_bulk_volume(take.excavation_m3, style) for take in both]
        says.append(f"It decides between {_ends(volumes, 'and')} to dig.")
    elif leaf in UNDER_EVERY_SIZE:
        says.append("Every size is counted from it.")
    names = " ".join(f"{number} {QUESTIONS[number]}" for number in held)
    says.append(f"{'Only this is missing for' if alone == held else 'This and more is missing for'}: {names}")
    return " ".join(says)
