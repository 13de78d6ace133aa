"""Where long work may be stopped: it calls a ``Pause`` between its pieces, and who no longer waits raises there."""

from __future__ import annotations

from collections.abc import Callable

Pause = Callable[[], None]


def go_on() -> None:
    """Do nothing: the pause of work that nobody stops."""
