"""The cautions that stand on every paper that leads to digging."""

from __future__ import annotations

CAUTIONS: tuple[tuple[str, str], ...] = (
    (
        "Before anybody digs",
        "Have all buried utilities located and marked, and wait the days that the locating service asks for."
        " Private lines (yard lights, sprinklers, a line to a shed) are marked by nobody: ask the owner, and"
        " dig by hand near anything uncertain.",
    ),
    (
        "Trench and open hole",
        "A trench or pit can cave in without warning. Nobody works in one as deep as 5 ft (1.5 m) unless its"
        " sides are sloped, shored or shielded, and in a shallower one not where the ground leans, cracks or"
        " runs. From 4 ft (1.2 m) on keep a ladder in it. Keep spoil and machines 2 ft (0.6 m) back. Fence"
        " and cover every hole at night.",
    ),
    ("Septic and sewers", "Roof water stays out of septic tanks, leach fields and foul sewers."),
    (
        "The house first",
        "Keep the water away from foundations: no well, and no pipe with open joints, near a wall or above a"
        " basement floor. When the well is full the water must leave at the overflow, below every opening of"
        " the house.",
    ),
    (
        "Who decides",
        "Local code, the permit office and a licensed professional decide. This paper is a calculation from"
        " what was measured and assumed; where the ground is not as it says, stop and ask.",
    ),
)
"""Heading and words. Ladder, spoil, protection in trenches: source us-29-cfr-1926; the local rule decides."""
