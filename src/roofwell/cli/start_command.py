"""``roofwell start FILE``."""

from __future__ import annotations

import argparse
import sys

from roofwell.job.starter import starter


def run(options: argparse.Namespace) -> int:
    """Write the starter; a file that is there already is kept."""
    if options.file.exists():
        print(f"roofwell: {options.file} is there already and was kept; name another file", file=sys.stderr)
        return 2
    try:
        options.file.write_text(starter("metric-house" if options.metric else "house"), encoding="utf-8")
    except OSError as error:
        print(f"roofwell: cannot write {options.file}: {error.strerror}", file=sys.stderr)
        return 2
    print(f"Wrote {options.file}: an invented house. Put your own measurements in its place, then:")
    print(f"  roofwell design {options.file}")
    return 0
