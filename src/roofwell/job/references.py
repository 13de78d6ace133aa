"""Links between the labels of a job: what leads where, looked at on labels alone.

Works on the document as entered, so that a bad size somewhere does not hide a bad link. Each fault names
the leaf that makes it; once those leaves are left out, every link of the job leads to something that is
there, no part has two ways out or two overflows, and no water runs in a circle.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import Any

from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault

LABELED_TABLES = (
    "buildings", "roofs", "gutters", "downspouts", "features",
    "wyes", "runs", "basins", "wells", "overflows", "outlets",
)  # fmt: skip
RUN_STARTS = ("downspouts", "wyes", "basins")
RUN_ENDS = ("wyes", "basins", "wells", "outlets")
OVERFLOW_OF = ("wells",)
OVERFLOW_TO = ("wells", "outlets")
PARTS = ("downspouts", "wyes", "basins", "wells", "outlets")

Labels = dict[str, str]
Edge = tuple[str, str, KeyPath]


def reference_faults(document: dict[str, Any], entered: dict[str, Any]) -> list[Fault]:
    """Return everything that is wrong with the links of a document.

    ``document`` holds the parts of sections that were left out whole, ``entered`` does not: nobody is told
    that such a part leads nowhere.
    """
    labels: Labels = {}
    faults = list(_same_labels(document, labels))
    for table, key, wanted in LINKS:
        faults += _links(document, table, key, wanted, labels)
    faults += _roofs(document)
    unusable = {path for fault in faults for path in fault.drop}
    faults += _one_each(
        document, "runs", "from", "one way out is all that a part has", "two-outlets", unusable
    )
    faults += _one_each(
        document, "overflows", "of", "one overflow is all that a part has", "two-overflows", unusable
    )
    faults += _circles(document, {path for fault in faults for path in fault.drop})
    faults += _orphans(entered)
    return faults


LINKS = (
    ("roofs", "gutter", ("gutters",)),
    ("roofs", "sheds_on", ("roofs",)),
    ("downspouts", "gutter", ("gutters",)),
    ("runs", "from", RUN_STARTS),
    ("runs", "to", RUN_ENDS),
    ("overflows", "of", OVERFLOW_OF),
    ("overflows", "to", OVERFLOW_TO),
    ("wells", "linked_to", ("wells",)),
)

# What to do instead, where a link leads from or to a part that it cannot lead from or to.
INSTEAD = {
    ("runs", "from", "wells"): "wells joined at the bottom are one well with several bodies (bodies = 2), or two "
    "wells with a pipe between them (linked_to in the second, link_invert); of wells in series the second "
    "takes the overflow of the first ([overflows.LABEL] with of and to)",
    ("runs", "from", "outlets"): "the water is gone at an outlet; let the run end there",
    ("runs", "from", "gutters"): "a gutter drains into a downspout; let the run start at that",
    ("runs", "from", "runs"): "two runs join at a wye",
    ("runs", "to", "runs"): "two runs join at a wye",
    ("runs", "to", "downspouts"): "water leaves a downspout into a run and cannot be led into it",
    ("overflows", "of", "downspouts"): "a downspout lets go at its joint with the buried pipe (joint); "
    "give the overflow of the well that it leads to",
    ("overflows", "of", "basins"): "a basin lets go at its own grate; give that (grate), and the overflow of "
    "the well behind it",
    ("overflows", "of", "wyes"): "a wye is closed; give the overflow of the well that it leads to",
    ("overflows", "of", "outlets"): "the water leaves freely at an outlet; say where it goes (destination)",
    ("overflows", "to", "wyes"): "pipe that carries an overflow on ends at an outlet of its own; lead it there or into a "
    "second well, or say in destination where the water goes over the ground",
    ("overflows", "to", "basins"): "water from a full well cannot rise into the pipes that fill it; lead it into "
    "a second well, or say in destination where it goes over the ground",
}  # fmt: skip


def loose_links(job: Job) -> list[KeyPath]:
    """Return the links of a job to parts that did not stand, and of which the problem is told already."""
    return [
        (table, label, key)
        for table, key, wanted in LINKS
        for label, entry in getattr(job, table).items()
        if (to := getattr(entry, "from_" if key == "from" else key)) is not None
        and not any(to in getattr(job, other) for other in (*wanted, *PARTS))
    ]


def entries(document: dict[str, Any], table: str) -> dict[str, dict[str, Any]]:
    """Return the labeled tables of one kind that are tables at all."""
    found = document.get(table)
    if not isinstance(found, dict):
        return {}
    return {label: entry for label, entry in found.items() if isinstance(entry, dict)}


def in_use(document: dict[str, Any], table: str) -> dict[str, dict[str, Any]]:
    """Return the labeled tables of one kind through which water runs: all but abandoned ones."""
    return {
        label: entry for label, entry in entries(document, table).items() if entry.get("state") != "abandoned"
    }


def text(entry: dict[str, Any], key: str) -> str | None:
    """Return a label that an entry names, ``None`` if it names none that could be read."""
    value = entry.get(key)
    return value if isinstance(value, str) and value.strip() else None


def _noun(table: str) -> str:
    noun = {"wyes": "wye"}.get(table, table.removesuffix("s"))
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def _nouns(tables: tuple[str, ...]) -> str:
    nouns = [_noun(table) for table in tables]
    return nouns[0] if len(nouns) == 1 else ", ".join(nouns[:-1]) + " or " + nouns[-1]


def _same_labels(document: dict[str, Any], labels: Labels) -> Iterator[Fault]:
    for table in LABELED_TABLES:
        found = document.get(table)
        for label in found if isinstance(found, dict) else ():
            if label in labels:
                first = labels[label]
                message = (
                    f"{label} is already {_noun(first)} ([{first}.{label}]); "
                    f"give this {_noun(table).partition(' ')[2]} another label"
                )
                yield Fault((table, label), message, "label-twice", ((table, label),))
            else:
                labels[label] = table


def _links(
    document: dict[str, Any], table: str, key: str, wanted: tuple[str, ...], labels: Labels
) -> Iterator[Fault]:
    for label, entry in entries(document, table).items():
        to = text(entry, key)
        path = (table, label, key)
        abandoned = entry.get("state") == "abandoned"
        if to is None or (abandoned and table in ("runs", "overflows") and labels.get(to) in PARTS):
            continue  # nothing runs through an abandoned part any more, so it may have led anywhere
        if labels.get(to) in wanted:
            if (
                not abandoned
                and to not in in_use(document, labels[to])
                and to in entries(document, labels[to])
            ):
                message = f"{to} is abandoned; name a part that is in use, or leave this out"
                yield Fault(path, message, "contradiction", (path,))
            continue
        if to in labels:
            kind = labels[to]
            message = f"{to} is {_noun(kind)}; needed is the label of {_nouns(wanted)}"
            if (table, key, kind) in INSTEAD:
                message += f": {INSTEAD[table, key, kind]}"
            yield Fault(path, message, "wrong-kind-of-part", (path,))
            continue
        known = [other for other, kind in labels.items() if kind in wanted]
        close = difflib.get_close_matches(to[:80], known, n=1, cutoff=0.6)
        if close:
            hint = f"; did you mean {close[0]}?"
        elif known:
            hint = f"; there {'is only' if len(known) == 1 else 'are'} {', '.join(known[:12])}"
        else:
            hint = f"; add [{wanted[-1]}.{to}]" if len(to) < 20 else ""
        yield Fault(path, f"there is no part labeled {to[:40]}{hint}", "no-such-part", (path,))


def _roofs(document: dict[str, Any]) -> Iterator[Fault]:
    roofs = entries(document, "roofs")
    sheds: dict[str, str] = {}
    for label, roof in roofs.items():
        lower = text(roof, "sheds_on")
        if lower not in roofs or lower is None:
            continue
        path = ("roofs", label, "sheds_on")
        if text(roof, "gutter") is not None:
            message = "a roof section drains to a gutter or sheds on a lower roof; leave one of the two out"
            yield Fault(path, message, "two-outlets", (path,))
            continue
        trail = [label]
        step: str | None = lower
        while step is not None and step != label:
            trail.append(step)
            step = sheds.get(step)
        if step == label:
            circle = " → ".join([*trail, label])
            yield Fault(path, f"these roofs shed in a circle: {circle}", "loop", (path,))
        else:
            sheds[label] = lower


def _one_each(
    document: dict[str, Any], table: str, key: str, rule: str, code: str, unusable: set[KeyPath]
) -> Iterator[Fault]:
    first: dict[str, str] = {}
    for label, entry in in_use(document, table).items():
        part = text(entry, key)
        path = (table, label, key)
        if part is None or path in unusable:
            continue
        if part in first:
            yield Fault(path, f"{part} already has {first[part]}; {rule}", code, (path,))
        else:
            first[part] = label


def _edges(document: dict[str, Any], unusable: set[KeyPath]) -> Iterator[tuple[Edge, str]]:
    for table, start, end in (("runs", "from", "to"), ("overflows", "of", "to")):
        for label, entry in in_use(document, table).items():
            a, b = text(entry, start), text(entry, end)
            paths = ((table, label, start), (table, label, end))
            if a is not None and b is not None and not any(path in unusable for path in paths):
                yield (a, b, paths[1]), label


def _circles(document: dict[str, Any], unusable: set[KeyPath]) -> Iterator[Fault]:
    """Follow the water along runs and overflows together; the link that closes a circle is at fault."""
    onward: dict[str, list[str]] = {}
    for (start, end, path), label in _edges(document, unusable):
        back = _way(onward, end, start)
        if back is None:
            onward.setdefault(start, []).append(end)
        else:
            circle = " → ".join([start, *back])
            yield Fault(path, f"with {label} the water runs in a circle: {circle}", "loop", (path,))


def _way(onward: dict[str, list[str]], start: str, goal: str) -> list[str] | None:
    came_from: dict[str, str | None] = {start: None}
    waiting = [start]
    while waiting:
        here = waiting.pop()
        if here == goal:
            way: list[str] = []
            step: str | None = here
            while step is not None:
                way.append(step)
                step = came_from[step]
            return way[::-1]
        for following in onward.get(here, ()):
            if following not in came_from:
                came_from[following] = here
                waiting.append(following)
    return None


def _orphans(document: dict[str, Any]) -> Iterator[Fault]:
    runs = entries(document, "runs")
    overflows = entries(document, "overflows")
    for label, run in runs.items():
        for key, where in (("from", "where the water comes from"), ("to", "where it goes")):
            if key not in run:
                yield Fault(("runs", label), f'"{key}" is needed: the label of the part {where}', "orphan")
    for label, overflow in overflows.items():
        if "of" not in overflow:
            message = '"of" is needed: the label of the well or basin that overflows here'
            yield Fault(("overflows", label), message, "orphan")
    yield from _unreached(document, runs)
    yield from _undrained_gutters(document)


def _unreached(document: dict[str, Any], runs: dict[str, dict[str, Any]]) -> Iterator[Fault]:
    """Find parts that no water reaches although runs are given, and nothing is left that could be led there."""
    if not runs:
        return
    into: dict[str, int] = {}
    for entry in (*in_use(document, "runs").values(), *in_use(document, "overflows").values()):
        to = text(entry, "to")
        if to is not None:
            into[to] = into.get(to, 0) + 1
    pairs = [(label, text(well, "linked_to")) for label, well in in_use(document, "wells").items()]
    for _ in pairs:  # water reaches a well over its links, from either end
        for one, other in pairs:
            if other is not None and (one in into or other in into):
                into.setdefault(one, 0)
                into.setdefault(other, 0)
    out_of = {text(run, "from") for run in in_use(document, "runs").values()}
    waiting = [part for table in ("downspouts", "basins") for part in in_use(document, table)]
    if any(part not in out_of for part in waiting):
        return  # a run that is left out is designed, and may lead there
    for label in in_use(document, "wyes"):
        if into.get(label, 0) < 2:
            lead = {0: "none leads", 1: "only one leads"}[into.get(label, 0)]
            message = f"a wye joins two runs; {lead} into {label}"
            yield Fault(("wyes", label), message, "orphan")
        if label not in out_of:
            yield Fault(("wyes", label), f"no run leads away from {label}", "orphan")
    for table in ("basins", "wells", "outlets"):
        for label in in_use(document, table):
            if label not in into:
                message = f"no run leads to {label} although all runs are given; add one, or take {label} out"
                yield Fault((table, label), message, "orphan")


def _undrained_gutters(document: dict[str, Any]) -> Iterator[Fault]:
    """Find gutters that no downspout drains, where downspouts are given."""
    drained = {text(downspout, "gutter") for downspout in entries(document, "downspouts").values()}
    for label in in_use(document, "gutters"):
        if drained and label not in drained:
            message = f"no downspout drains {label}; name it as the gutter of one"
            yield Fault(("gutters", label), message, "orphan")
