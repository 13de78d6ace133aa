"""2. Does it fall? The way in plan: whether a trench gets through, and how the route was found."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import units
from roofwell.checks.register import Context, Measured, check


@check(
    "trench-passes",
    question=2,
    value="way of {}",
    about="A designed trench gets through to its goal; where none does, by how much the widest gap is too narrow.",
)
def trench_passes(context: Context) -> Iterator[Measured]:
    """Silent where every trench passes; else each run that is drawn straight because none does."""
    style = context.survey.style
    for run in context.scheme.blocked:
        missing = run.wanted_m - run.width_m
        short = units.show_depth(missing, style)
        if not run.between:
            words = (
                f"No trench leads to the end of {run.run}: what is there shuts it in. It is drawn straight."
            )
        else:
            words = (
                f"No trench passes for {run.run}: the gap between {' and '.join(run.between)} is {short} narrower "
                "than the trench. It is drawn straight."
            )
        yield Measured(
            subject=run.run,
            value=round(missing, 6),
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_depth(v, style),
            value_text=f"{short} too narrow",
            limit_text="nothing too narrow",
            sentence=words,
            source="derived",
        )


def paved_words(context: Context) -> str:
    """Say what the trenches pass under or cut, in one sentence; empty where they pass nothing paved."""
    kinds = {feature.id: feature.kind for feature in context.survey.features}
    said = dict.fromkeys(
        f"the {kinds.get(item.id, 'paving')} {item.id} is {'bored under' if item.way == 'bored' else 'cut open'}"
        for item in context.scheme.paved
    )
    words = ", ".join(said)
    return f"{words[0].upper()}{words[1:]}." if words else ""


def route_words(context: Context) -> str:
    """Say how the trench trees were found, and how near they came to what was counted on; empty without one."""
    out = []
    for route in context.scheme.routes:
        found = (
            "the cheapest of all that go from corner to corner round what stands in the way"
            if route.exact
            else "the cheapest that was found (with more than six inlets not every way is tried)"
        )
        share = units.show_percent(abs(route.gap_share), 1)
        side = "more" if route.gap_share >= 0 else "less"
        tries = "at the first try" if route.rounds == 1 else f"after {route.rounds} tries"
        out.append(
            f"The trench to {route.goal} is {found}, weighed by {route.weighed_by}; with its slopes and depths it comes "
            f"to {share} {side} than first reckoned ({tries})."
        )
    return " ".join(out)
