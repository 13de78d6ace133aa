"""``python -m roofwell``."""

from __future__ import annotations

import sys

from roofwell.cli import main

sys.exit(main())
