"""``roofwell schema``."""

from __future__ import annotations

import argparse
import json

from roofwell.job import json_schema


def run(options: argparse.Namespace) -> int:
    """Print the JSON Schema of the job document."""
    print(json.dumps(json_schema(), indent=2))
    return 0
