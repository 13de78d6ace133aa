"""Nine answers for a document as it stands on the page: read, designed, drawn; a newer edit stops the older.

One thread designs; what a page asks for while it is busy replaces what that page asked for before.
"""

from __future__ import annotations

import shutil
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from roofwell.design import Design, design
from roofwell.job import Reading
from roofwell.job.reading import read_text
from roofwell.store import Store


class Outdated(Exception):
    """A newer edit of the same page came in; nobody waits for this answer any more."""


@dataclass(slots=True)
class Answering:
    """Designs documents one at a time. ``store`` has the files that a job names."""

    store: Store
    _folders: dict[str, tuple[tuple[str, ...], Path]] = field(default_factory=dict)
    _busy: threading.Lock = field(default_factory=threading.Lock)
    _newest: dict[str, int] = field(default_factory=dict)
    _counting: threading.Lock = field(default_factory=threading.Lock)
    _root: Path = field(default_factory=lambda: Path(tempfile.mkdtemp(prefix="roofwell-files-")))

    def reading(self, job: str, document: str) -> Reading:
        """Read the text of a document beside the files of its job."""
        return read_text(document, folder=self.folder(job))

    def design(self, reading: Reading, *, page: str, beyond: bool = True) -> Design | None:
        """Design what could be read; None where nothing could. ``beyond``: with what lies beyond the design storm.

        Raises
        ------
        Outdated
            If the same page asks again before this is done.
        """
        mine = self._ticket(page)
        with self._busy:
            self._look(page, mine)
            if reading.job is None:
                return None
            return design(
                reading.job,
                folder=reading.folder,
                document=reading.document,
                progress=lambda words: self._look(page, mine),
                beyond=beyond,
            )

    def folder(self, job: str) -> Path:
        """Return a folder that holds the files of a job as the store has them."""
        files = self.store.files(job)
        state = tuple(f"{file.name}:{file.sha256}" for file in files)
        with self._counting:
            known = self._folders.get(job)
            if known is not None and known[0] == state:
                return known[1]
            folder = Path(tempfile.mkdtemp(dir=self._root))
            for file in files:
                path = folder / file.name.replace("\\", "/")
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(self.store.file(job, file.name))
            self._folders[job] = (state, folder)
            return folder

    def close(self) -> None:
        """Take the copies of the files away."""
        shutil.rmtree(self._root, ignore_errors=True)

    def _ticket(self, page: str) -> int:
        with self._counting:
            self._newest[page] = self._newest.get(page, 0) + 1
            return self._newest[page]

    def _look(self, page: str, mine: int) -> None:
        if self._newest.get(page) != mine:
            raise Outdated


@contextmanager
def answering(store: Store) -> Iterator[Answering]:
    """Answer for the jobs of a store, and clean up."""
    one = Answering(store)
    try:
        yield one
    finally:
        one.close()
