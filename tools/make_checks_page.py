"""Write docs/checks.md, and the table of codes that the job document is read by, from the register of checks.

Run it after a check was added or its text changed.
"""

from __future__ import annotations

from pathlib import Path

from roofwell import tables
from roofwell.checks import QUESTIONS, REGISTER
from roofwell.checks.register import Check, never_overruled

PAGE = Path(__file__).parents[1] / "docs" / "checks.md"
CODES = Path(__file__).parents[1] / "src" / "roofwell" / "tables" / "data" / "check_codes.csv"

HEAD = """# The checks

Everything that Roofwell says answers one of nine questions, and each answer takes the worst of its findings: `fails`,
then `unknown`, then `close`, then `good`. This page lists every check by the code that a finding carries. It is
written by `tools/make_checks_page.py` from the register that the program runs; a test fails where the two differ.

- `good`: the limit is met with room. A number equal to its limit meets it.
- `close`: met by less than the stated uncertainty of the number or, where none is stated, by less than a tenth of the
  check's own scale.
- `fails`: not met, or not met anywhere in the range that a missing measurement leaves open.
- `unknown`: a measurement that the check needs is missing. The finding says which one and how to take it.

A finding may be overruled with a typed reason (`[[overrules]]` of the job): its verdict stays, the reason is printed,
the stamp NOT FOR DIGGING lifts. Never overruled are the checks that say so below, and a limit of the office's rule file.
"""


def page() -> str:
    """Return the whole page."""
    parts = [HEAD]
    for number, title in QUESTIONS.items():
        parts.append(f"## {number}. {title}\n")
        found = [check for check in REGISTER.values() if check.question == number]
        if not found:
            parts.append("Nothing to judge before it is built.\n")
        parts += [_check(check) for check in found]
    return "\n".join(parts)


def codes() -> str:
    """Return the table of codes: an overrule of the job document names one of them."""
    rows = [f"{check.code},{check.question},own-choice" for check in REGISTER.values()]
    return "\n".join(["code,question,source", *sorted(rows)]) + "\n"


def _check(check: Check) -> str:
    what = {row["leaf"]: row["what"] for row in tables.rows("measurements")}
    lines = [f"### {check.code}\n", f"{check.about}\n"]
    if check.value != "{}":
        lines.append(f"Its number is called: *{check.value.replace('{}', '…')}*.\n")
    if check.needs:
        lines.append(f"Unknown without: {'; '.join(what[leaf] for leaf in check.needs)}.\n")
    lines.append(
        ("Papers for digging wait for it." if check.digging else "Papers for digging do not wait for it.")
        + (" Never overruled." if never_overruled(check.code) else "")
        + "\n"
    )
    return "\n".join(lines)


def main() -> None:
    """Write the page and the table."""
    PAGE.write_text(page(), encoding="utf-8")
    CODES.write_text(codes(), encoding="utf-8")


if __name__ == "__main__":
    main()
