"""The first job of an empty store: the invented bungalow, so that the page opens on something."""

from __future__ import annotations

from roofwell.store import Store
from roofwell.web.jobs import example

DEMO = "bungalow"


def with_demo(store: Store) -> str | None:
    """Put the demo into a store that never held a job; return its id then."""
    if store.jobs() or store.jobs(archived=True):
        return None
    text, files = example(DEMO)
    return store.create(text, who="Roofwell", note="the demo, invented", files=files).job
