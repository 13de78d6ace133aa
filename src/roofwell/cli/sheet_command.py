"""``roofwell sheet``."""

from __future__ import annotations

import argparse
import sys

from roofwell.papers.field_sheet import make_field_sheet
from roofwell.papers.typesetting import write_whole


def run(options: argparse.Namespace) -> int:
    """Write a blank field sheet to take along."""
    try:
        write_whole(options.file, make_field_sheet("metric" if options.metric else "us"))
    except OSError as error:
        print(f"roofwell: cannot write {options.file}: {error.strerror}", file=sys.stderr)
        return 2
    print(
        f"{options.file}: a blank field sheet, two sides; type it in with roofwell start or roofwell serve."
    )
    return 0
