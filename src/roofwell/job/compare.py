"""What differs between two documents, leaf by leaf."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from roofwell.job.lines import KeyPath, write_path
from roofwell.job.problems import plain, shown
from roofwell.job.toml_text import parse_toml


@dataclass(frozen=True, slots=True)
class Difference:
    """One leaf that differs: its key path, and how it is written in the older and newer text; None: not there."""

    path: str
    older: str | None
    newer: str | None


def differences(older: str, newer: str) -> list[Difference]:
    """Return what differs between the texts of two documents, in the order of the older, then what is new.

    A text that is no TOML counts as empty, and is told as one difference of the whole.
    """
    (one, _, broken_one), (two, _, broken_two) = parse_toml(older), parse_toml(newer)
    if broken_one is not None or broken_two is not None:
        if older == newer:
            return []
        return [Difference("", _whole(broken_one), _whole(broken_two))]
    before, after = dict(leaves(plain(one))), dict(leaves(plain(two)))
    paths = dict.fromkeys([*before, *after])
    return [
        Difference(write_path(path), _text(before, path), _text(after, path))
        for path in paths
        if before.get(path, _NONE) != after.get(path, _NONE)
    ]


_NONE = object()


def _whole(broken: object) -> str:
    return "a document" if broken is None else "a text that cannot be read"


def _text(leaves: dict[KeyPath, Any], path: KeyPath) -> str | None:
    return shown(leaves[path]) if path in leaves else None


def leaves(value: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    """Yield what stands at the ends; a list of plain values is one leaf."""
    if isinstance(value, dict):
        if not value:
            yield path, value
        for key, item in value.items():
            yield from leaves(item, (*path, key))
    elif isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        for i, item in enumerate(value):
            yield from leaves(item, (*path, i))
    else:
        yield path, value
