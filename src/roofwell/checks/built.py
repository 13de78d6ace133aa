"""9. Was it built so, does it still work? Nothing to judge before building."""

from __future__ import annotations

SENTENCE = "Nothing to judge before it is built."
