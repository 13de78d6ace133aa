"""The verdict as a level vial in black and white: barrel, two lines, long bubble; beside its word."""

from __future__ import annotations

import math

from roofwell.checks.finding import Finding, Verdict

WIDTH_PT, HEIGHT_PT = 42.0, 13.5
_MIDDLE = 28.0


def bubble(verdict: Verdict, finding: Finding | None) -> float:
    """Return how far right of the middle the bubble stands, of a vial 56 wide.

    Good drifts right as the margin goes from half to a tenth of the limit; close lies on the line; fails at
    the end.
    """
    if verdict == "fails":
        return 18.6
    share = 0.5
    if finding is not None and math.isfinite(finding.spare):
        base = abs(finding.limit) if math.isfinite(finding.limit) and finding.limit else abs(finding.value)
        if math.isfinite(base) and base > 0:
            share = finding.spare / base
    if verdict == "close":
        return 6.6 + 3.0 * (1 - min(max(share, 0.0), 0.1) / 0.1)
    return 3.0 * (1 - (min(max(share, 0.1), 0.5) - 0.1) / 0.4)


def vial(verdict: Verdict, finding: Finding | None) -> str:
    """Return the SVG of a vial, 42 by 13.5 points."""
    tube = "M0.8 4.3Q28 2.3 55.2 4.3V13.7Q28 15.7 0.8 13.7Z"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_PT}" height="{HEIGHT_PT}" viewBox="0 0 56 18"'
        ' font-family="Roofwell Park">'
    )
    if verdict == "unknown":
        return (
            f'{head}<path d="{tube}" fill="none" stroke="#000" stroke-width="1.2" stroke-dasharray="3 2.2"/>'
            '<text x="28" y="13.6" font-size="13" font-weight="600" text-anchor="middle">?</text></svg>'
        )
    fails = verdict == "fails"
    x = _MIDDLE + bubble(verdict, finding)
    ticks = "".join(f'<path d="M{line} .4V17.6" stroke="#000" stroke-width="1.3"/>' for line in (18, 38))
    inner = "".join(f'<path d="M{line} 4.4V13.6" stroke="#fff" stroke-width="1.1"/>' for line in (18, 38))
    return (
        f'{head}<path d="{tube}" fill="{"#000" if fails else "#fff"}" stroke="#000" stroke-width="1.2"/>'
        f'<ellipse cx="{x:.1f}" cy="9" rx="6.3" ry="3.1" fill="#fff" stroke="#000" stroke-width="1"/>'
        f"{ticks}{inner if fails else ''}</svg>"
    )


def mark(origin: str) -> str:
    """Return the SVG of the mark that says where a value comes from, 9 by 9 points."""
    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9" viewBox="0 0 12 12"'
        ' font-family="Roofwell Park">'
    )
    body = {
        "given": '<circle cx="6" cy="6" r="4" fill="#000"/>',
        "designed": '<circle cx="6" cy="6" r="4" fill="#fff" stroke="#000" stroke-width="1.5"/>',
        "assumed": '<circle cx="6" cy="6" r="4" fill="#fff" stroke="#000" stroke-width="1.4"'
        ' stroke-dasharray="1.9 1.6"/>',
        "missing": '<circle cx="6" cy="6" r="5" fill="#fff" stroke="#000" stroke-width="1"'
        ' stroke-dasharray="1.7 1.5"/><text x="6" y="8.8" font-size="8.5" font-weight="700"'
        ' text-anchor="middle">?</text>',
    }[origin]
    return f"{head}{body}</svg>"
