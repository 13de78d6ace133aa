"""Pipes that link wells at the bottom: what is wrong with them, by labels and by levels."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from roofwell.job.model import Job
from roofwell.job.problems import Fault
from roofwell.job.references import in_use, text


def well_link_faults(document: dict[str, Any]) -> Iterator[Fault]:
    """Find links to a well itself, in a circle, and between wells that one overflow joins already."""
    wells = in_use(document, "wells")
    overflows = {(text(o, "of"), text(o, "to")): label for label, o in in_use(document, "overflows").items()}
    group = {label: {label} for label in wells}
    for label, well in wells.items():
        to = text(well, "linked_to")
        path = ("wells", label, "linked_to")
        if to is None or to not in wells:
            if to is None:
                for key in ("link_invert", "link_nominal"):
                    if key in well:
                        message = (
                            'this is of a pipe to another well; name that in "linked_to", or leave it out'
                        )
                        yield Fault(("wells", label, key), message, "contradiction", (("wells", label, key),))
            continue
        if to == label:
            yield Fault(path, f"{label} is linked to itself; name another well", "loop", (path,))
            continue
        if to in group[label]:
            message = (
                f"{label} and {to} are linked already, by other links; one way is enough: leave this out"
            )
            yield Fault(path, message, "loop", (path,))
            continue
        both = group[label] | group[to]
        series = next((o for (of, end), o in overflows.items() if of in both and end in both), None)
        if series is not None:
            message = (
                f"{series} leads the overflow of one of {', '.join(sorted(both))} into another of them, and linked wells "
                "are full together: link them or lead the overflow on, leave one out"
            )
            yield Fault(path, message, "contradiction", (path,))
            continue
        for one in both:
            group[one] = both


def well_link_level_faults(job: Job) -> Iterator[Fault]:
    """Find links whose invert lies below the bottoms, or not below the lips, that the job gives."""
    lips = {o.of: (label, o.lip) for label, o in job.overflows.items() if o.lip is not None and o.of}
    for label, well in job.wells.items():
        invert = well.link_invert
        if invert is None or well.linked_to is None or well.state == "abandoned":
            continue
        path = ("wells", label, "link_invert")
        for end in (label, well.linked_to):
            other = job.wells.get(end)
            bottom = other.bottom if other is not None else None
            if bottom is not None and invert.value_si < bottom.value_si - 1e-9:
                message = (
                    f"lies below the bottom of {end} at {bottom.text}; give the inside bottom of the pipe between the "
                    "wells, at the higher bottom or over it"
                )
                yield Fault(path, message, "order-of-levels", (path,))
                break
            lip = lips.get(end)
            if lip is not None and lip[1] is not None and invert.value_si >= lip[1].value_si - 1e-9:
                message = (
                    f"does not lie below the lip of {lip[0]} at {lip[1].text}, where {end} is full: no water would ever "
                    "pass; give the inside bottom of the pipe between the wells"
                )
                yield Fault(path, message, "order-of-levels", (path,))
                break
