"""The cautions that stand on every paper that leads to digging."""

from __future__ import annotations

from roofwell import tables
from roofwell.units import Style


def cautions(style: Style) -> tuple[tuple[str, str], ...]:
    """Return heading and words of each caution; depths and distances are limits of the tables, in a style.

    Ladder, spoil, protection in trenches: source us-29-cfr-1926; the local rule decides.
    """
    deep, ladder = tables.limit("deep-pit", style).text, tables.limit("ladder-pit", style).text
    by_hand, back = tables.limit("tolerance-zone", style).text, tables.limit("spoil-setback", style).text
    return (
        (
            "Before anybody digs",
            "Have all buried utilities located and marked, and wait the days that the locating service asks"
            " for. Private lines (yard lights, sprinklers, a line to a shed) are marked by nobody: ask the"
            f" owner. Dig by hand within {by_hand} of a marked line and near anything uncertain.",
        ),
        (
            "Trench and open hole",
            f"A trench or pit can cave in without warning. Nobody works in one as deep as {deep} unless its"
            " sides are sloped, shored or shielded, and in a shallower one not where the ground leans, cracks"
            f" or runs. From {ladder} on keep a ladder in it. Keep spoil and machines {back} back. Fence and"
            " cover every hole at night.",
        ),
        ("Septic and sewers", "Roof water stays out of septic tanks, leach fields and foul sewers."),
        (
            "The house first",
            "Keep the water away from foundations: no well, and no pipe with open joints, near a wall or"
            " above a basement floor. When the well is full the water must leave at the overflow, below every"
            " opening of the house.",
        ),
        (
            "Who decides",
            "Local code, the permit office and a licensed professional decide. This paper is a calculation"
            " from what was measured and assumed; where the ground is not as it says, stop and ask.",
        ),
    )


def in_short(style: Style) -> str:
    """Return the same cautions for a sheet that is read at the hole, in a style."""
    deep, ladder = tables.limit("deep-pit", style).text, tables.limit("ladder-pit", style).text
    back = tables.limit("spoil-setback", style).text
    return (
        "Utilities located and marked, the days of the locating service waited out. Private lines are not"
        f" marked: ask. From {ladder} deep a ladder; from {deep} nobody in it unprotected. Spoil and machines"
        f" {back} back. Never step into well or basin. Fence and cover open holes at night. No roof water into"
        " septic or foul sewer, none at a foundation. Local code and a licensed professional decide."
    )
