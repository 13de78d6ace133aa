"""The turns of the new runs: where, by which elbows, what the joints take up; and runs for which no trench passes."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.texts import Say
from roofwell.takeoff.bends import Turn
from roofwell.takeoff.ends import fitting_kind

_EXACT_RAD = math.radians(0.5)


def turns(design: Design) -> dict[str, Any]:
    """Return a row for each turn in plan, and a note for each run that is drawn through what is in its way."""
    say = Say(design.survey.style)
    rows = [
        {
            "run": turn.run,
            "at": say.station(turn.station_m),
            "where": f"into {turn.where}" if turn.where != "corner" else "",
            "turn": _degrees(turn.turn_rad),
            "pieces": _pieces(turn),
            "left": _left_over(turn),
        }
        for turn in design.takeoff.turns
    ]
    notes = []
    for blocked in design.scheme.blocked:
        short = say.depth(blocked.wanted_m - blocked.width_m)
        between = (
            f"between {several(blocked.between)} it wants {short} more" if blocked.between else "shut in"
        )
        notes.append(f"No trench passes for {blocked.run}: {between}. It is drawn straight.")
    return {"rows": rows, "notes": notes}


def _degrees(angle_rad: float) -> str:
    return f"{math.degrees(angle_rad):.1f}".removesuffix(".0") + "°"


def _pieces(turn: Turn) -> str:
    counts = Counter(fitting_kind(kind).what for kind in turn.elbows)
    return ", ".join(f"{count} x {what}" for what, count in counts.items()) or "none: in the joints"


def _left_over(turn: Turn) -> str:
    """Say what the joints turn beside the elbows, or turn back."""
    if abs(turn.left_over_rad) < _EXACT_RAD:
        return "nothing"
    words = _degrees(abs(turn.left_over_rad))
    return f"{words} more" if turn.left_over_rad > 0 else f"{words} back"
