"""Which question of a page is its newest: an older one is nobody's any more, in whatever order they arrive."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TypeVar

PAGES = 500  # marks of open pages, so that nobody fills the memory with them
Look = Callable[[str], None]
T = TypeVar("T")


class Outdated(Exception):
    """A newer edit of the same page came in, or the page was closed; nobody waits for this answer any more."""


@dataclass(slots=True)
class Questions:
    """The questions of all pages. A look raises ``Outdated`` once its question is not the newest."""

    _newest: dict[str, int] = field(default_factory=dict)
    _turns: dict[str, int] = field(default_factory=dict)
    _asked: dict[str, str] = field(default_factory=dict)  # by page: of which document it asked last
    _numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))
    _counting: threading.Lock = field(default_factory=threading.Lock)

    def asking(self, page: str, document: str, progress: Look | None, *, turn: int = 0) -> Look:
        """Return the look of a question of a page, which makes its older ones outdated.

        ``turn``: the page's own count of its questions; two of them can arrive, or be read, the wrong way round.

        Raises
        ------
        Outdated
            If the page has asked in a later turn already.
        """
        with self._counting:
            if 0 < turn < self._turns.get(page, 0):
                raise Outdated
            _put(self._turns, page, turn)
            _put(self._asked, page, document)
            mine = self._ticket(page)
        return self._look([lambda: self._newest.get(page) == mine], progress)

    def looking(self, page: str, what: str, progress: Look | None) -> Look:
        """Return the look of long work for a page: it raises when the page asks for answers, or for this again."""
        with self._counting:
            asks, mine = self._newest.get(page), self._ticket(f"{page} {what}")
        return self._look(
            [
                lambda: self._newest.get(page) == asks,
                lambda: self._newest.get(f"{page} {what}") == mine,
            ],
            progress,
        )

    def longer(self, page: str, what: str, document: str, progress: Look | None) -> Look:
        """As ``looking``, for work that was asked for by itself: answers to the same document leave it alone."""
        with self._counting:
            before, mine = self._asked.get(page), self._ticket(f"{page} {what}")
        return self._look(
            [
                lambda: self._asked.get(page) in (before, document),
                lambda: self._newest.get(f"{page} {what}") == mine,
            ],
            progress,
        )

    def _ticket(self, key: str) -> int:
        number = next(self._numbers)
        _put(self._newest, key, number)
        return number

    @staticmethod
    def _look(holds: list[Callable[[], bool]], progress: Look | None) -> Look:
        def look(words: str) -> None:
            if not all(hold() for hold in holds):
                raise Outdated
            if progress is not None:
                progress(words)

        return look


def _put(table: dict[str, T], key: str, value: T) -> None:
    """Put a value last; the pages that asked longest ago are forgotten first."""
    table.pop(key, None)
    table[key] = value
    while len(table) > PAGES:
        del table[next(iter(table))]
