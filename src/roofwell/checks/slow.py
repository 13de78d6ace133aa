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
}
"""Checks by the part that they look at: of a Scheme the reasons why levels do not fit, the others of a Behaviour."""


def lent(findings: Iterable[Finding], *, reasons: bool) -> tuple[str, ...]:
    """Return the codes of those findings that rest on a part that takes long; ``reasons``: levels do not fit."""
    codes = {
        code for part, looked in LOOKED_AT.items() for code in looked if reasons or part != "level_conflicts"
    }
    return tuple(dict.fromkeys(finding.code for finding in findings if finding.code in codes))
