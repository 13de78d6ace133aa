"""The shipped example jobs. Every house, person, office and figure in them is invented."""

from __future__ import annotations

from pathlib import Path
from typing import Final

_FOLDER: Final = Path(__file__).parent
_NAMES: Final = ("bungalow", "terrace", "sloping-lot", "old-system", "nothing-below-ground", "side-yard")


def names() -> tuple[str, ...]:
    """Return the names of the shipped examples, the plain job first."""
    return _NAMES


def path(name: str) -> Path:
    """Return the job file of an example; its rule file stands beside it.

    Raises
    ------
    ValueError
        If no example of this name is shipped; the message lists those that are.
    """
    if name not in _NAMES:
        raise ValueError(f"no example is called {name!r}; there are {', '.join(_NAMES)}")
    return _FOLDER / f"{name}.toml"
