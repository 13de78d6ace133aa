"""Why levels do not fit, in words: which wishes stand against each other, what they leave, what is wanted."""

from __future__ import annotations

from roofwell import units
from roofwell.checks.words import several
from roofwell.system.scheme import LevelConflict, LevelWish, Scheme
from roofwell.units import Style

FALLS = ("least-slope",)


def sentence(conflict: LevelConflict, scheme: Scheme, style: Style) -> str:
    """Return a conflict as a sentence or two, in the units of a style."""
    wishes = [_wish(wish, style) for wish in conflict.wishes if wish.kind not in FALLS]
    who = several([words for words in dict.fromkeys(wishes) if words]) or "What is wished"
    count = len([words for words in dict.fromkeys(wishes) if words])
    one = count <= 1
    steep = any(wish.kind == "greatest-slope" for wish in conflict.wishes)
    missing = units.show_elevation(conflict.missing_m, style)
    if conflict.length_m <= 0:
        kept = "be kept" if one else "both be kept" if count == 2 else "all be kept"
        said = f"{who} cannot {kept}: {missing} is missing."
    else:
        sloped = [
            w.run for w in conflict.wishes if w.kind in ("least-slope", "greatest-slope", "given-slope")
        ]
        runs = several(list(dict.fromkeys(sloped)))
        length = f"{units.show_distance(conflict.length_m, style)} of {runs or 'run'}"
        available = units.show_elevation(abs(conflict.available_m), style)
        wanted = units.show_elevation(conflict.wanted_m, style)
        if steep:
            said = f"{who} {'makes' if one else 'make'} {available} of fall over {length}; at most {wanted} may be."
        elif available != units.show_elevation(0.0, style) and conflict.available_m < 0:
            said = (
                f"{who} {'makes' if one else 'make'} the pipe rise {available} over {length}; "
                f"a fall of {wanted} is wanted."
            )
        else:
            said = f"{who} {'leaves' if one else 'leave'} {available} over {length}; {wanted} is wanted."
    ways = [
        f"{run} passes {side} {_crossed(thing, scheme)} here; the other way even more is missing."
        for run, thing, side in conflict.sides
        if any(w.run == run and w.name == thing for w in conflict.wishes)
    ]
    return " ".join([said[0].upper() + said[1:], *ways])


def _crossed(name: str, scheme: Scheme) -> str:
    return f"run {name}" if any(run.id == name for run in scheme.runs) else f"the {name}"


def _wish(wish: LevelWish, style: Style) -> str:
    """Return one wish in words; empty where it is said by the rest of the sentence."""
    match wish.kind:
        case "cover":
            return _cover(wish, style)
        case "depth":
            return f"the greatest depth of the trench of {wish.run}"
        case "crossing":
            return f"the crossing of {wish.run} and the {wish.name}"
        case "own-crossing":
            return f"the crossing of {wish.run} and {wish.name}"
        case "node-greatest-invert" | "node-least-invert":
            edge = "highest" if wish.kind == "node-greatest-invert" else "lowest"
            return f"the {edge} level at which a pipe meets {wish.name}"
        case "node-drop":
            return f"the drop in {wish.name}"
        case "node-invert" | "node-inlet-invert":
            return f"the level of the pipe at {wish.name}"
        case "given-upstream-invert":
            return f"the upper invert of {wish.run} as given"
        case "given-downstream-invert":
            return f"the lower invert of {wish.run} as given"
        case "given-slope":
            return f"the given slope of {wish.run}"
        case _:
            return ""


def _cover(wish: LevelWish, style: Style) -> str:
    kind, _, feature = wish.name.partition(":")
    at = f"over {wish.run} at {units.show_distance(wish.station_m, style)}"
    if kind == "daylight":
        return f"the ground {at}"
    if kind == "frost":
        return f"the frost depth {at}"
    return f"the soil that {f'the {kind} {feature}' if feature else f'the {kind}'} wants {at}"
