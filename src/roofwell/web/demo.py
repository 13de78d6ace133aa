"""The first job of an empty store: the invented bungalow, so that the page opens on something."""

from __future__ import annotations

from roofwell.store import Store
from roofwell.web.jobs import example

DEMO = "bungalow"


def with_demo(store: Store) -> None:
    """Put the demo into a store that never held a job."""
    if not store.jobs() and not store.jobs(archived=True):
        text, files = example(DEMO)
        store.create(text, who="Roofwell", note="the demo, invented", files=files)
