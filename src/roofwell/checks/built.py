"""9. Was it built so, does it still work? Nothing to judge before building."""

from __future__ import annotations

SENTENCE = "Nothing to judge before it is built."
STANDS = (
    "It stands already. Whether it still soaks as reckoned here, a filled well shows: fill it and time how long it takes to "
    "empty."
)
STANDS_DRY = "It stands already. Whether it still runs, water shows: run a hose into each downspout and see it run out."
