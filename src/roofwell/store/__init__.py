"""The store: jobs as entered, good or not, every save a version that stays.

``Store``       what can be done with the jobs that are kept
``open_store``  open the SQLite file that holds them, made or brought up to date where needed
"""

from __future__ import annotations

from roofwell.store.engine import open_engine
from roofwell.store.files import PutFile, StoredFile
from roofwell.store.jobs import JobSummary, Saved, Store, Version, VersionSummary

__all__ = ["JobSummary", "PutFile", "Saved", "Store", "StoredFile", "Version", "VersionSummary", "open_store"]


def open_store(path: str) -> Store:
    """Open the store in the SQLite file at ``path``, which is made where it is not there.

    Raises
    ------
    InputError
        ``store-unreadable`` if the file cannot be opened or is no store; ``store-newer`` if a newer Roofwell made it.
    """
    return Store(open_engine(path))
