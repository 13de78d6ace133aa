"""What the commands print on: colors and the terminal's own width for a person, plain whole lines in a pipe."""

from __future__ import annotations

import sys

from rich.console import Console

PIPED_WIDTH = 10_000


def output() -> Console:
    """Return a console on the standard output; text is printed as it stands but for our own marks."""
    piped = not sys.stdout.isatty()
    return Console(highlight=False, emoji=False, soft_wrap=piped, width=PIPED_WIDTH if piped else None)
