"""What comes down each downspout in a year: roof covering, trees, gutter guard."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from roofwell.physics.basin.capture import litter_kg_year, washed_off_kg_year
from roofwell.system.debris_facts import Span
from roofwell.system.facts import RoofFact, Survey
from roofwell.system.scheme import Downspout, Scheme
from roofwell.tables import debris as tables

Loads = Mapping[str, Span]
"""Dry kg a year of each kind."""

TREES = ("none", "few", "many")
UNKNOWN_TREES = "few"  # what stands for trees that nobody spoke of; the range holds all
KINDS = ("leaves", "needles", "seeds")
FALLS = {"broadleaf": (1.0, 0.0, 1.0), "needle": (0.0, 1.0, 1.0), "both": (0.5, 0.5, 1.0)}
"""Share of the foliage that is leaves and needles, and of the rest that is seeds, buds and twigs."""


def spout_loads(scheme: Scheme, survey: Survey, runoff_m_year: Span) -> dict[str, Loads]:
    """Return what comes down each downspout, dry kg a year by kind, gutter guards counted.

    ``runoff_m_year``: rain that runs off, m a year. A roof's load is shared among its downspouts by their area.
    """
    gutters: dict[tuple[str, ...], float] = {}
    for spout in scheme.downspouts:
        gutters[spout.roofs] = gutters.get(spout.roofs, 0.0) + spout.roof_area_m2
    out: dict[str, Loads] = {}
    for spout in scheme.downspouts:
        roofs = [roof for roof in survey.roofs if roof.id in spout.roofs]
        area = gutters[spout.roofs]
        share = spout.roof_area_m2 / area if area > 0 else 0.0
        out[spout.id] = _past_guard(spout, _sum(roof_load(roof, runoff_m_year) for roof in roofs), share)
    return out


def _sum(loads: Iterable[Loads]) -> dict[str, Span]:
    out: dict[str, Span] = {}
    for load in loads:
        for kind, amount in load.items():
            out[kind] = out[kind] + amount if kind in out else amount
    return out


def _past_guard(spout: Downspout, loads: Loads, share: float) -> Loads:
    guarded = spout.gutter is not None and spout.gutter.guard
    out = {}
    for kind in tables.kinds():
        amount = loads.get(kind.key, Span(0.0, 0.0, 0.0)).times(share)
        if guarded:
            low, best, high = kind.guard
            amount = Span(amount.low * (1 - high), amount.best * (1 - best), amount.high * (1 - low))
        out[kind.key] = amount
    return out


def roof_load(roof: RoofFact, runoff_m_year: Span) -> Loads:
    """Return what comes off one roof, dry kg a year by kind, before any guard."""
    out = _litter(roof)
    covering = tables.covering_of(roof.covering)
    area = roof.counted_area_m2
    for kind in tables.kinds():
        if not kind.mineral:
            continue
        if covering is not None:
            out[kind.key] = _shed(covering, kind.key, area, runoff_m_year)
        else:  # nobody said what lies on the roof: the least and the most of all coverings
            spans = [_shed(one, kind.key, area, runoff_m_year) for one in tables.coverings()]
            middle = sum(span.best for span in spans) / len(spans)
            out[kind.key] = Span(min(s.low for s in spans), middle, max(s.high for s in spans))
    return out


def _shed(covering: str, kind: str, area_m2: float, runoff_m_year: Span) -> Span:
    total = Span(0.0, 0.0, 0.0)
    for load in tables.loads():
        if load.kind != kind or load.covering not in ("any", covering):
            continue
        if load.in_water:
            runoff = (runoff_m_year.low, runoff_m_year.best, runoff_m_year.high)
            total += Span(
                *(
                    washed_off_kg_year(roof_area_m2=area_m2, runoff_m_year=m, concentration_kg_m3=c)
                    for m, c in zip(runoff, load.amount, strict=True)
                )
            )
        else:
            total += Span(*(area_m2 * amount for amount in load.amount))
    return total


def _litter(roof: RoofFact) -> dict[str, Span]:
    """Leaves, needles and seeds that reach the pipe; the least and the most of all that nobody ruled out."""
    trees = (roof.trees,) if roof.trees is not None else TREES
    falls = (roof.tree_kind,) if roof.tree_kind is not None else tuple(FALLS)
    fall, reaches = Span(*tables.figure("fall")), Span(*tables.figure("reaches"))
    low, best, high = tables.figure("foliage")
    foliage, rest = Span(low, best, high), Span(1 - high, 1 - best, 1 - low)

    def reached(part: Span, kind: str, share: float) -> Span:
        """What of a part of the litter reaches the pipe: at best under the usual trees, at its ends under any of them."""
        under = [Span(*tables.figure(tree)).by(fall, reaches, part) for tree in trees]
        usual = Span(*tables.figure(roof.trees or UNKNOWN_TREES))
        one = litter_kg_year(
            canopy_m2=usual.best * roof.plan_area_m2,
            fall_kg_m2_year=fall.best,
            reaches=reaches.best,
        )
        column = KINDS.index(kind)
        shares = [FALLS[fall][column] for fall in falls]
        return Span(
            roof.plan_area_m2 * min(shares) * min(span.low for span in under),
            one * part.best * share,
            roof.plan_area_m2 * max(shares) * max(span.high for span in under),
        )

    usual = FALLS[roof.tree_kind or "both"]
    return {
        kind: reached(rest if kind == "seeds" else foliage, kind, usual[i]) for i, kind in enumerate(KINDS)
    }
