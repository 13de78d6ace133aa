"""Writing job documents: one leaf changed in a text that keeps its comments, or a whole document."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, MutableMapping
from datetime import date
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable, Item, Table

from roofwell.errors import InputError
from roofwell.job.lines import KeyPath, read_path, write_path
from roofwell.units import Quantity

_WIDEST = 100
_MOST_HEADED = 8  # a longer list of plain entries is written a line each

_DEEPEST = 50  # reading cuts a document off long before


def set_leaf(document_text: str, path: str, value: Any) -> str:
    """Return the text with the leaf at ``path`` set; comments, order and all other lines stay.

    Parameters
    ----------
    document_text
        The TOML text of a job document.
    path
        A key path such as ``runs.P3.slope`` or ``survey.readings[0].rod``. Tables that are not there yet are
        added; a list can grow by the entry after its last.
    value
        A text, number, truth, date, ``Quantity`` (its text is written), list or table; ``None`` takes the
        leaf out.

    Raises
    ------
    InputError
        ``not-toml`` if the text is no TOML; ``key-path`` if the path is none or leads through a leaf or
        beyond the end of a list; ``not-writable`` if TOML has no such value.
    """
    return set_leaves(document_text, [(path, value)])


def set_leaves(document_text: str, leaves: Iterable[tuple[str, Any]]) -> str:
    """Return the text with several leaves set in their order, read and written once; all else as ``set_leaf``."""
    try:
        document = tomlkit.parse(document_text)
    except (TOMLKitError, ValueError, RecursionError):
        raise InputError("the text is not TOML; nothing was changed", code="not-toml") from None
    for path, value in leaves:
        steps = read_path(path)
        if isinstance(steps[0], int):
            raise _no_way(steps, 0)
        if value is None:
            _take_out(document, steps)
        else:
            _put(document, steps, _plain(value))
    return tomlkit.dumps(document)


def with_leaf(document: Mapping[str, Any], path: str, value: Any) -> dict[str, Any] | None:
    """Return a document that was read already with the leaf at ``path`` set: what ``set_leaf`` does to its text.

    None where only the text tells: the last leaf of a table or list that is taken out, a list or table of another kind
    than before. What is not on the way to the leaf is shared with ``document``, which stays as it is. Errors as
    ``set_leaf``.
    """
    steps = read_path(path)
    if isinstance(steps[0], int):
        return None
    if value is None:
        return _without(document, steps)
    new = _plain(value)
    if _odd(new):
        return None
    out = dict(document)
    here: Any = out
    for step, following in pairwise(steps):
        there: Any
        if isinstance(here, dict) and isinstance(step, str):
            there = here.get(step, {} if isinstance(following, str) else [])
        elif _within(here, step):
            there = here[step]
        elif _next(here, step) and isinstance(following, str) and _all_tables(here):
            there = {}
            here.append(there)
        else:
            return None
        if not isinstance(there, dict if isinstance(following, str) else list):
            return None
        there = there.copy()
        here[step] = there
        here = there
    last = steps[-1]
    if isinstance(here, dict) and isinstance(last, str):
        if last in here and isinstance(here[last], (dict, list)) != isinstance(new, (dict, list)):
            return None
        here[last] = new
    elif _within(here, last):
        if isinstance(here[last], dict) != isinstance(new, dict):
            return None
        here[last] = new
    elif _next(here, last) and _all_tables([*here, new]) == _all_tables(here):
        here.append(new)
    else:
        return None
    return out


def _without(document: Mapping[str, Any], steps: KeyPath) -> dict[str, Any] | None:
    """Return a document without a leaf; the same where it has none. None where a table or list would be left empty."""
    out = dict(document)
    here: Any = out
    for step, following in pairwise((*steps, None)):
        has = step in here if isinstance(step, str) and isinstance(here, dict) else _within(here, step)
        if not has:
            return dict(document)
        if following is None:
            del here[step]
            return out if here else None
        there = here[step]
        if not isinstance(there, (dict, list)):
            return dict(document)
        there = there.copy()
        here[step] = there
        here = there
    return None


def _within(here: Any, step: Any) -> bool:
    return isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here)


def _next(here: Any, step: Any) -> bool:
    """Say whether a list grows by the entry after its last."""
    return isinstance(here, list) and isinstance(step, int) and step == len(here)


def _all_tables(values: list[Any]) -> bool:
    return all(isinstance(value, dict) for value in values)


def _odd(value: Any) -> bool:
    """Say whether a text may not give a value back: what is empty leaves no trace, half a letter cannot be written."""
    if isinstance(value, (dict, list)):
        inside = value.values() if isinstance(value, dict) else value
        return not value or any(_odd(item) for item in inside)
    return isinstance(value, str) and any("\ud800" <= letter <= "\udfff" for letter in value)


def document_text(document: Mapping[str, Any]) -> str:
    """Write a plain document as TOML: tables of parts as ``[runs.P1]``, lists of tables as ``[[...]]``.

    Raises
    ------
    InputError
        ``not-writable`` if TOML has no such value (``None`` inside a list, for instance).
    """
    out = tomlkit.document()
    _fill(out, {key: _plain(value) for key, value in document.items() if value is not None}, 0)
    return tomlkit.dumps(out)


def _plain(value: Any, depth: int = 0) -> Any:
    if depth > _DEEPEST:
        raise InputError("no value of a document has so many tables within tables", code="not-writable")
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, Mapping):
        return {str(key): _plain(item, depth + 1) for key, item in value.items() if item is not None}
    if isinstance(value, (list, tuple)):
        return [_plain(item, depth + 1) for item in value]
    if isinstance(value, (str, bool, int, float, date)):
        return value
    raise InputError(f"a document cannot hold a {type(value).__name__}", code="not-writable")


def _fill(table: MutableMapping[str, Any], values: Mapping[str, Any], depth: int) -> None:
    """Put leaves before tables, as TOML needs them."""
    for key, value in values.items():
        if not _is_tables(value):
            table[key] = _leaf(value)
    for key, value in values.items():
        if _is_tables(value):
            table[key] = _tables(value, depth)


def _is_tables(value: Any) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)
    )


def _tables(value: Any, depth: int) -> Item:
    """Write tables with headers down to parts; entries within entries stay on a line of their own."""
    if isinstance(value, dict):
        if depth >= 2:
            return _leaf(value)
        holds_only_tables = bool(value) and all(isinstance(item, dict) for item in value.values())
        table = tomlkit.table(is_super_table=holds_only_tables)
        _fill(table, value, depth + 1)
        return table
    if depth >= 2 or (len(value) > _MOST_HEADED and all(_flat(entry) for entry in value)):
        return _leaf(value)
    entries = tomlkit.aot()
    for entry in value:
        table = tomlkit.table()
        _fill(table, entry, 2)
        entries.append(table)
    return entries


def _flat(entry: Mapping[str, Any]) -> bool:
    return not any(_is_tables(value) for value in entry.values())


def _leaf(value: Any) -> Item:
    if isinstance(value, dict):
        inline = tomlkit.inline_table()
        for key, item in value.items():
            inline.append(key, _leaf(item))
        return inline
    if isinstance(value, list):
        array = tomlkit.array()
        for item in value:
            array.append(_leaf(item))
        if len(array.as_string()) > _WIDEST or (value and all(isinstance(item, dict) for item in value)):
            array.multiline(True)
        return array
    new: Item = tomlkit.item(value)
    return new


def _no_way(steps: KeyPath, taken: int) -> InputError:
    return InputError(
        f"{write_path(steps)} leads nowhere: there is no {write_path(steps[: taken + 1])} to go through",
        code="key-path",
    )


def _put(document: Any, steps: KeyPath, value: Any) -> None:
    here = document
    for taken, step in enumerate(steps[:-1]):
        here = here[step] if _has(here, step) else _grow(here, steps, taken)
    step = steps[-1]
    if isinstance(step, str) and isinstance(here, MutableMapping):
        inline = isinstance(here, InlineTable)
        new = _leaf(value) if inline or not _is_tables(value) else _tables(value, len(steps) - 1)
        _keep_comment(here, step, new)
        here[step] = new
    elif isinstance(step, int) and isinstance(here, (Array, AoT)) and 0 <= step <= len(here):
        if isinstance(here, AoT) and not isinstance(value, dict):
            raise _no_way(steps, len(steps) - 1)
        new = _tables(value, 2 if isinstance(here, Array) else 1) if isinstance(value, dict) else _leaf(value)
        if step == len(here):
            here.append(new)
        else:
            here[step] = new
    else:
        raise _no_way(steps, len(steps) - 1)


def _keep_comment(table: Any, key: str, new: Item) -> None:
    old = table.get(key)
    if isinstance(old, Item) and not isinstance(old, (Table, AoT)):
        new.trivia.comment_ws = old.trivia.comment_ws
        new.trivia.comment = old.trivia.comment


def _has(here: Any, step: str | int) -> bool:
    if isinstance(step, str):
        return isinstance(here, MutableMapping) and step in here
    return isinstance(here, (Array, AoT)) and 0 <= step < len(here)


def _grow(here: Any, steps: KeyPath, taken: int) -> Any:
    """Add the table or list that ``steps`` goes through next."""
    step, following = steps[taken], steps[taken + 1]
    if isinstance(step, int):
        if not isinstance(here, (Array, AoT)) or step != len(here) or isinstance(following, int):
            raise _no_way(steps, taken)
        here.append(tomlkit.inline_table() if isinstance(here, Array) else tomlkit.table())
        return here[step]
    if not isinstance(here, MutableMapping):
        raise _no_way(steps, taken)
    if isinstance(following, int):
        entries = taken + 2 < len(steps) and not isinstance(here, InlineTable)
        here[step] = tomlkit.aot() if entries else tomlkit.array()
    elif isinstance(here, InlineTable):
        here[step] = tomlkit.inline_table()
    else:
        here[step] = tomlkit.table(is_super_table=taken + 2 < len(steps))
    return here[step]


def _take_out(document: Any, steps: KeyPath) -> None:
    here = document
    for step in steps[:-1]:
        if not _has(here, step):
            return
        here = here[step]
    step = steps[-1]
    if _has(here, step):
        del here[step]
