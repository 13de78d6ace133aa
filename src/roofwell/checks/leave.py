"""7. Is it allowed, is it safe? Ways out that somebody must allow: a curb, a sewer; a pump and what it needs."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell.checks.register import Context, Measured, check
from roofwell.checks.words import several
from roofwell.system.scheme import Outlet

PUBLIC = ("curb", "storm sewer")
ANSWERS = (
    ("outlets.power", "power", "its power"),
    ("outlets.freeze_protection", "freeze_protection", "what keeps it from freezing"),
    ("outlets.allowed_by", "allowed_by", "who allowed its outfall"),
)


@check(
    "pump-answered",
    question=7,
    value="pump {}",
    about=(
        "Where the way out is pumped: the job says what powers it, what keeps it from freezing, and who allowed its "
        "outfall. Until all three are said, nothing is issued. What the pump lifts is not reckoned. Never to be overruled."
    ),
)
def pump_answered(context: Context) -> Iterator[Measured]:
    """How many of the three nobody has answered."""
    for outlet in context.scheme.outlets:
        if outlet.kind != "pump":
            continue
        open_ = [(leaf, words) for leaf, name, words in ANSWERS if not _said(outlet, name)]
        yield Measured(
            subject=outlet.id,
            value=float(len(open_)),
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: f"{v:.0f}",
            value_text=f"{len(open_)} of 3 not answered" if open_ else "power, frost and outfall answered",
            limit_text="power, frost and outfall answered",
            sentence=(
                f"{outlet.id} is a pump: it lifts water where the ground gives no fall, as long as it runs. "
                + (f"Nobody has said {several([words for _, words in open_])}. " if open_ else "")
                + "How much it lifts is not reckoned here; without power the full well has no way out, see what if."
            ),
            source="own-choice",
            also_missing=tuple(leaf for leaf, _ in open_),
        )


def _said(outlet: Outlet, name: str) -> bool:
    words = getattr(outlet, name)
    return isinstance(words, str) and bool(words.strip())


@check(
    "outlet-allowed",
    question=7,
    needs=("site.outlet",),
    value="leave for {}",
    about="Who allowed a curb to be cut or a sewer to be tapped: both belong to the public way.",
)
def outlet_allowed(context: Context) -> Iterator[Measured]:
    """Only curbs and sewers."""
    for outlet in context.scheme.outlets:
        if outlet.kind not in PUBLIC:
            continue
        by = outlet.allowed_by
        yield Measured(
            subject=outlet.id,
            value=0.0 if by else 1.0,
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: f"{v:.0f}",
            value_text=f"allowed by {by}" if by else "leave not asked",
            limit_text="leave of the office",
            sentence=(
                f"{outlet.id} leads into a {outlet.kind}; {by} allowed it."
                if by
                else f"{outlet.id} leads into a {outlet.kind}, which is not the owner's: ask before anything is cut."
            ),
            source="common-practice",
            also_missing=() if by else ("outlets.allowed_by",),
        )
