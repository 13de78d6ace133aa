"""Which answers are not good, and the part that causes each: their numbers stand in rings on the drawings."""

from __future__ import annotations

from roofwell.design.result import Design


def troubles(design: Design) -> tuple[tuple[str, int, bool], ...]:
    """Return (part, number of the answer, whether it fails) for each answer that is not good."""
    out = []
    for answer in design.answers:
        found = answer.governing
        if found is not None and answer.verdict in ("fails", "unknown", "close"):
            subject = found.subject.split(" ")[0]  # "W1 to lot line" stands at W1
            out.append((subject, answer.question, answer.verdict == "fails"))
    return tuple(out)
