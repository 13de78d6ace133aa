"""Key paths of a document, and the line of the file on which each stands.

A key path is a tuple of keys and list positions; written out it reads ``soil.auger_tests[0].hole_depth``,
with quotes round a key that is not a bare TOML key (``runs."P 3".slope``).
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from roofwell.errors import InputError

KeyPath = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STEP = re.compile(r'(?:^|\.)([A-Za-z0-9_-]+)|(?:^|\.)("(?:[^"\\]|\\.)*")|\[(\d{1,9})\]')


def write_path(path: KeyPath) -> str:
    """Write a key path as a person reads it; the document itself is ``(whole document)``."""
    out = ""
    for step in path:
        if isinstance(step, int):
            out += f"[{step}]"
        else:
            name = step if _BARE.fullmatch(step) else json.dumps(step, ensure_ascii=False)
            out += f".{name}" if out else name
    return out or "(whole document)"


def read_path(text: str) -> KeyPath:
    """Read a key path back from its text.

    Raises
    ------
    InputError
        ``key-path`` if the text is not a key path.
    """
    steps: list[str | int] = []
    position = 0
    while position < len(text):
        match = _STEP.match(text, position)
        if match is None or (position == 0 and text[0] in ".["):
            break
        bare, quoted, index = match.groups()
        try:
            steps.append(bare if bare else json.loads(quoted) if quoted else int(index))
        except ValueError:
            break
        position = match.end()
    if not steps or position < len(text):
        raise InputError(
            f'"{text}" is not a key path; write one such as runs.P3.slope or survey.readings[0].rod',
            code="key-path",
        )
    return tuple(steps)


@dataclass(frozen=True, slots=True)
class Lines:
    """The line, counted from 1, on which each key path of a document begins."""

    by_path: Mapping[KeyPath, int] = field(default_factory=dict)

    def at(self, path: KeyPath) -> int | None:
        """Return the line of ``path`` or of the nearest table round it; ``None`` without a file."""
        for length in range(len(path), -1, -1):
            line = self.by_path.get(path[:length])
            if line is not None:
                return line
        return None


@cache
def _language() -> Language:
    return Language(tree_sitter_toml.language())


def lines_of(text: str) -> Lines:
    """Find the line of every key path of a TOML text that ``tomllib`` has read without complaint."""
    tree = Parser(_language()).parse(text.encode("utf-8", "replace"))
    found: dict[KeyPath, int] = {(): 1}
    table_counts: dict[KeyPath, int] = {}
    for node in tree.root_node.named_children:
        if node.type == "pair":
            _note_values([(node, ())], found)
        elif node.type in ("table", "table_array_element"):
            path = _header_path(node, table_counts)
            for length in range(1, len(path) + 1):
                found.setdefault(path[:length], _line(node))
            pairs = [(child, path) for child in node.named_children if child.type == "pair"]
            _note_values(pairs, found)
    return Lines(found)


def _line(node: Node) -> int:
    return node.start_point[0] + 1


def _keys(node: Node) -> list[str]:
    """Return the keys of a bare, quoted or dotted key, with escapes read as TOML reads them."""
    table = tomllib.loads(f"{(node.text or b'').decode('utf-8', 'replace').strip()} = 0")
    keys = []
    while isinstance(table, dict):
        key, table = next(iter(table.items()))
        keys.append(key)
    return keys


def _header_path(node: Node, table_counts: dict[KeyPath, int]) -> KeyPath:
    """Resolve a table header: a key that names a list of tables means its latest entry."""
    keys = _keys(node.named_children[0])
    path: KeyPath = ()
    for key in keys[:-1]:
        path = (*path, key)
        if path in table_counts:
            path = (*path, table_counts[path])
    path = (*path, keys[-1])
    if node.type == "table_array_element":
        table_counts[path] = table_counts.get(path, -1) + 1
        path = (*path, table_counts[path])
    return path


def _note_values(pairs: list[tuple[Node, KeyPath]], found: dict[KeyPath, int]) -> None:
    waiting = list(pairs)
    while waiting:
        node, path = waiting.pop()
        if node.type == "pair":
            children = [child for child in node.named_children if child.type != "comment"]
            inner = path
            for key in _keys(children[0]):
                inner = (*inner, key)
                found.setdefault(inner, _line(node))
            waiting.append((children[-1], inner))
        elif node.type == "inline_table":
            waiting.extend((child, path) for child in node.named_children if child.type == "pair")
        elif node.type == "array":
            items = [child for child in node.named_children if child.type != "comment"]
            for index, item in enumerate(items):
                found.setdefault((*path, index), _line(item))
                waiting.append((item, (*path, index)))
