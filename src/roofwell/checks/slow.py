"""What takes long to work out, and which checks look at it: after an edit it is lent from before until it is worked out.

A test takes each part away and holds that no other finding changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from roofwell.checks.finding import Finding

LOOKED_AT: Mapping[str, tuple[str, ...]] = {
    "level_conflicts": ("levels-fit",),
    "mound": ("mound-below-well", "mound-at-wall", "uplift"),
    "debris": ("basin-capture", "basin-emptying", "floating-kept"),
    "overland": (
        "overflow-path",
        "overflow-to-building",
        "spill-below-opening",
        "spill-on-walk",
        "spill-to-neighbor",
    ),
    "donor_range": ("spills-a-year",),
    "what_if": ("blocked-below-opening",),
    "ageing": ("well-in-years",),
    "held_storms": ("lawn-clear", "spills-a-year", "storm-held", "water-in-storm"),
}
"""Checks by the part that they look at: of a Scheme the reasons why levels do not fit, the others of a Behaviour.

Storms and record take long only where a mound holds a well back.
"""


def lent(findings: Iterable[Finding], *, reasons: bool, held: bool) -> tuple[str, ...]:
    """Return the codes of those findings that rest on a part that takes long; ``reasons``: levels do not fit; ``held``:
    a mound holds a well back."""
    at_times = {"level_conflicts": reasons, "held_storms": held}
    codes = {code for part, looked in LOOKED_AT.items() for code in looked if at_times.get(part, True)}
    return tuple(dict.fromkeys(finding.code for finding in findings if finding.code in codes))
