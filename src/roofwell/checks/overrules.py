"""Overrules of the job that set nothing aside, each with the reason: none is passed over in silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from roofwell.checks.finding import Finding
from roofwell.checks.register import never_overruled
from roofwell.job import model


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that the job says and that has no effect: its key path, what was read, and why."""

    path: str
    read: str
    message: str


def without_effect(job: model.Job, findings: Sequence[Finding]) -> tuple[Notice, ...]:
    """Return a notice for each overrule that set no finding aside."""
    out = []
    for index, overrule in enumerate(job.overrules):
        of_check = [finding for finding in findings if finding.code == overrule.check]
        about = [f for f in of_check if overrule.subject in (None, f.subject)]
        if any(finding.overruled is not None for finding in about):
            continue
        read = overrule.check + (f" {overrule.subject}" if overrule.subject is not None else "")
        out.append(Notice(f"overrules[{index}]", read, _reason(overrule, of_check, about)))
    return tuple(out)


def _reason(overrule: model.Overrule, of_check: Sequence[Finding], about: Sequence[Finding]) -> str:
    if never_overruled(overrule.check) or any(finding.fixed for finding in about):
        return (
            "law and safety, and water above an opening of the house, are never set aside: the finding stands, "
            "and the stamp stays while it fails or is not known"
        )
    if not of_check:
        return "nothing in this design is judged by this check, so there is nothing to set aside"
    if not about:
        parts = list(dict.fromkeys(finding.subject for finding in of_check))
        more = ", …" if len(parts) > 12 else ""
        return f"this check does not judge {overrule.subject}; here it judges {', '.join(parts[:12])}{more}"
    return (
        "the limit is that of the office's rule file, which only the office can set aside: write what it allows "
        "into the rule file, with the date"
    )
