"""What is wrong with a document, and the sieve that keeps what is right.

A ``Sieve`` holds a document against a model of tables. What does not fit becomes a ``Problem`` and is left
out; validation is repeated until the rest stands. A required leaf that is missing takes its entry with it.
The same sieve serves the job document, the rule files and the price book.
"""

from __future__ import annotations

import difflib
import math
import types
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from typing import Annotated, Any, Generic, Literal, TypeVar, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from roofwell.job.fields import Table
from roofwell.job.lines import KeyPath, Lines, write_path
from roofwell.units import Quantity

# Deeper than any table of a document; what lies deeper cannot be meant.
_DEEPEST = 12
_LONGEST_SHOWN = 60

T = TypeVar("T", bound=Table)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with a document.

    ``path`` is its key path, ``line`` its line in the file (``None`` without a file), ``read`` what was
    read there, ``message`` what would be right, ``code`` a stable kebab-case word.
    """

    path: str
    line: int | None
    read: str
    message: str
    code: str


@dataclass(frozen=True, slots=True)
class Fault:
    """A problem found by a check of the house's own, with the leaves that it makes unusable.

    ``rests_on``: leaves that it takes as left out or as they stand; where one of them could not be read, that is told, and
    not what would follow from it.
    """

    path: KeyPath
    message: str
    code: str
    drop: tuple[KeyPath, ...] = ()
    rests_on: tuple[KeyPath, ...] = ()


class TooDeep:
    """Stands where a document was nested deeper than any document needs."""


def plain(value: Any, _depth: int = 0) -> Any:
    """Copy a document into plain dicts and lists with text keys; what lies too deep is cut off."""
    if isinstance(value, (Mapping, list, tuple)) and _depth >= _DEEPEST:
        return TooDeep()
    if isinstance(value, Mapping):
        return {str(key): plain(item, _depth + 1) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item, _depth + 1) for item in value]
    return value


def at(document: Any, path: KeyPath) -> Any:
    """Return what stands at ``path``, or ``None``."""
    for step in path:
        if isinstance(document, dict) and isinstance(step, str):
            document = document.get(step)
        elif isinstance(document, list) and isinstance(step, int) and 0 <= step < len(document):
            document = document[step]
        else:
            return None
    return document


def shown(value: Any) -> str:
    """Write a value as a person would recognize it from the file, shortened."""
    if value is None:
        text = "nothing"
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, (dict, Mapping)):
        text = "a table"
    elif isinstance(value, list):
        text = "[" + ", ".join(shown(item) for item in value[:8]) + (", …]" if len(value) > 8 else "]")
    elif isinstance(value, Quantity):
        text = f'"{value.text}"'
    elif isinstance(value, str):
        text = f'"{value[: _LONGEST_SHOWN * 2]}"'
    elif isinstance(value, (date, time)):
        text = value.isoformat()
    elif isinstance(value, TooDeep):
        text = "tables within tables"
    elif isinstance(value, int):
        text = str(value) if abs(value) < 10**30 else "a number of more than 30 digits"
    elif isinstance(value, float):
        text = repr(value)
    else:
        text = f"a {type(value).__name__}"
    text = " ".join(text.encode("utf-8", "backslashreplace").decode().split())
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


def problem(document: Any, lines: Lines, path: KeyPath, message: str, code: str) -> Problem:
    """Make the problem of what stands at ``path``."""
    return Problem(write_path(path), lines.at(path), shown(at(document, path)), message, code)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sort problems by line, then by key path; each is told once."""
    unique = dict.fromkeys(problems)
    return tuple(sorted(unique, key=lambda p: (p.line is None, p.line or 0, p.path, p.code)))


# --- the shape of a model ------------------------------------------------------------------------------


def bare(annotation: Any) -> Any:
    """Take ``| None`` and annotations off a type."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif get_origin(annotation) in (Union, types.UnionType):
            members = [member for member in get_args(annotation) if member is not type(None)]
            if len(members) != 1:
                return annotation
            annotation = members[0]
        else:
            return annotation


@cache
def is_table(annotation: Any) -> bool:
    """Say whether a type is a table of the document."""
    return isinstance(annotation, type) and issubclass(annotation, Table)


@cache
def entries_of(annotation: Any) -> tuple[type[dict[str, Any]] | type[list[Any]], type[Table]] | None:
    """Return the container and the table of ``dict[Id, Table]`` or ``tuple[Table, ...]``, else ``None``."""
    args = get_args(annotation)
    if get_origin(annotation) is dict and is_table(bare(args[1])):
        return dict, bare(args[1])
    if get_origin(annotation) is tuple and args and is_table(bare(args[0])):
        return list, bare(args[0])
    return None


@cache
def leaves(model: type[Table]) -> dict[str, Any]:
    """Return the key of every leaf or table of ``model`` as the person writes it, with its bare type."""
    return {field.alias or name: bare(field.annotation) for name, field in model.model_fields.items()}


# --- what is looked at before pydantic -----------------------------------------------------------------


def nearest(word: str, known: Iterable[str]) -> str:
    """Say which known word is meant, or list them all."""
    names = list(known)
    close = difflib.get_close_matches(word.lower()[:80], names, n=1, cutoff=0.6)
    if close:
        return f'did you mean "{close[0]}"?'
    return "known here: " + ", ".join(names)


def _known_here(keys: Iterable[str]) -> list[str]:
    return [*sorted(key for key in keys if key not in ("unit", "note")), "unit", "note"]


def _shape(model: type[Table], data: dict[str, Any], path: KeyPath) -> Iterator[Fault]:
    """Find unknown keys, things that are no tables or lists, and loose scalars that pydantic would bend."""
    known = leaves(model)
    for key, value in data.items():
        here = (*path, key)
        if key not in known:
            hint = nearest(key, _known_here(known))
            yield Fault(here, f'there is no "{key}" here; {hint}', "unknown-key", (here,))
            continue
        kind = known[key]
        if value is None:
            yield Fault(here, "leave the line out instead of giving it no value", "no-value", (here,))
        elif is_table(kind):
            yield from _table(kind, value, here)
        elif entries := entries_of(kind):
            container, table = entries
            if not isinstance(value, container):
                example = f"[{key}.LABEL]" if container is dict else f"[[{write_path(here)}]]"
                yield Fault(here, f"one table for each is needed, headed {example}", "not-tables", (here,))
                continue
            items: Iterable[tuple[Any, Any]] = value.items() if isinstance(value, dict) else enumerate(value)
            for label, item in items:
                if isinstance(label, str) and not label.strip():
                    yield Fault(
                        (*here, label), "a label is needed, such as D1", "no-label", ((*here, label),)
                    )
                else:
                    yield from _table(table, item, (*here, label))
        elif complaint := _loose(kind, value):
            yield Fault(here, complaint[0], complaint[1], (here,))


def _table(model: type[Table], value: Any, path: KeyPath) -> Iterator[Fault]:
    if isinstance(value, dict):
        yield from _shape(model, value, path)
    else:
        keys = ", ".join(_known_here(leaves(model))[:6])
        yield Fault(path, f"a table is needed here, with keys such as {keys}", "not-a-table", (path,))


def _loose(kind: Any, value: Any) -> tuple[str, str] | None:
    """Refuse what pydantic would bend into shape: "yes" for true, 5 for a date, "3" for a number."""
    if kind is bool and not isinstance(value, bool):
        return "write true or false, without quotes", "not-true-or-false"
    if kind is date and not _is_day(value):
        return "write a day as 2026-05-01", "not-a-day"
    if kind is int and (isinstance(value, bool) or not isinstance(value, int)):
        return "a whole number is needed, without quotes or unit", "not-a-whole-number"
    if kind is float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return "a number is needed, without quotes or unit", "not-a-number"
        if not math.isfinite(value):
            return "a number is needed that is one (not nan, not inf)", "not-finite"
    if kind is str and isinstance(value, str) and not value.strip():
        return "an empty text says nothing; leave the line out", "empty"
    return None


def _is_day(value: Any) -> bool:
    if isinstance(value, datetime):
        return False
    if isinstance(value, str):
        if len(value) != len("2026-05-01"):  # a week or a day of the year is a date too, but not one of ours
            return False
        try:
            date.fromisoformat(value)
        except ValueError:
            return False
        return True
    return isinstance(value, date)


# --- the sieve -----------------------------------------------------------------------------------------


def _without(value: Any, dropped: set[KeyPath], path: KeyPath = ()) -> Any:
    if not dropped:
        return value
    if isinstance(value, dict):
        kept = {key: item for key, item in value.items() if (*path, key) not in dropped}
        return {key: _without(item, dropped, (*path, key)) for key, item in kept.items()}
    if isinstance(value, list):
        return [_without(v, dropped, (*path, i)) for i, v in enumerate(value) if (*path, i) not in dropped]
    return value


def _entered(document: Any, dropped: set[KeyPath], loc: Iterable[Any]) -> KeyPath:
    """Turn a place in the sifted document into the place as entered (list entries may be gone before it)."""
    path: KeyPath = ()
    for step in loc:
        here = at(document, path)
        if isinstance(step, int) and isinstance(here, list):
            kept = [i for i in range(len(here)) if (*path, i) not in dropped]
            path = (*path, kept[step] if step < len(kept) else step)
        elif isinstance(step, (str, int)):
            path = (*path, step)
    return path


def _leaf(model: type[Table], path: KeyPath) -> tuple[KeyPath, Any]:
    """Return the leaf round ``path`` that has to go (a whole outline, not one coordinate), and its type."""
    table: type[Table] = model
    taken = 0
    kind: Any = None
    while taken < len(path):
        kind = leaves(table).get(str(path[taken]))
        taken += 1
        if is_table(kind):
            table = kind
        elif entries := entries_of(kind):
            table = entries[1]
            taken += 1
        else:
            break
    return path[:taken], kind


def _choices(annotation: Any) -> tuple[str, ...]:
    """Return the words that a leaf may be, or nothing if it is not a choice."""
    if get_origin(annotation) is Literal:
        return tuple(str(word) for word in get_args(annotation))
    return next((found for part in get_args(annotation) if (found := _choices(bare(part)))), ())


def _message(error: ErrorDetails, value: Any, choices: tuple[str, ...]) -> tuple[str, str]:
    kind, context = error["type"], error.get("ctx", {})
    if "reason" in context:
        return str(context["reason"]), kind
    match kind:
        case "literal_error":
            words = ", ".join(f'"{word}"' for word in choices)
            close = (
                difflib.get_close_matches(value.lower()[:80], choices, n=1) if isinstance(value, str) else []
            )
            return f"write one of {words}" + (f'; "{close[0]}"?' if close else ""), "not-one-of"
        case "string_type" | "string_unicode" | "string_sub_type":
            return "a text in quotes is needed", "not-a-text"
        case "tuple_type" | "list_type":
            return "a list in square brackets is needed", "not-a-list"
        case "missing" | "too_short" | "too_long":
            return 'two coordinates are needed, east and north, such as ["12 ft", "4 ft"]', "not-a-point"
        case "greater_than_equal":
            return f"must be at least {_plain_number(context.get('ge'))}", "too-small"
        case "greater_than":
            return f"must be above {_plain_number(context.get('gt'))}", "too-small"
        case "less_than_equal":
            return f"must be at most {_plain_number(context.get('le'))}", "too-large"
        case "less_than":
            return f"must be below {_plain_number(context.get('lt'))}", "too-large"
        case _:
            return error["msg"], kind.replace("_", "-")


def _plain_number(value: object) -> str:
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


class Sieve(Generic[T]):
    """A document held against a model: what was refused so far, and what stands.

    ``value`` is the model of everything that stands, ``None`` if a leaf that the whole document needs is
    missing. ``refuse`` takes further faults, found by other checks, and sifts again.
    """

    def __init__(self, model: type[T], document: dict[str, Any], *, lines: Lines) -> None:
        self.model = model
        self.document = document
        self.lines = lines
        self.dropped: set[KeyPath] = set()
        self._problems: list[Problem] = []
        self.value: T | None = None
        self._sifted = False
        self.refuse(_shape(model, document, ()))

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Every problem so far, by line."""
        return in_order(self._problems)

    def refuse(self, faults: Iterable[Fault]) -> None:
        """Take faults into the problems, leave out the leaves that they make unusable, and sift again."""
        known = len(self.dropped)
        for fault in faults:
            if not self.dropped.intersection(fault.rests_on):
                self._tell(fault.path, fault.message, fault.code)
            self.dropped.update(fault.drop)
        if not self._sifted or len(self.dropped) > known:
            self._sift()

    def _sift(self) -> None:
        self._sifted = True
        while True:
            try:
                self.value = self.model.model_validate(_without(self.document, self.dropped))
                return
            except ValidationError as error:
                before = len(self.dropped)
                for detail in error.errors(include_url=False):
                    self._take(detail)
                if () in self.dropped or len(self.dropped) == before:
                    self.value = None
                    return

    def leave_out(self, paths: Iterable[KeyPath]) -> None:
        """Leave out leaves of ``value`` whose problem is told already, and sift again."""
        known = len(self.dropped)
        self.dropped.update([_entered(self.document, self.dropped, path) for path in paths])
        if len(self.dropped) > known:
            self._sift()

    def _tell(self, path: KeyPath, message: str, code: str) -> None:
        self._problems.append(problem(self.document, self.lines, path, message, code))

    def _take(self, detail: ErrorDetails) -> None:
        path = _entered(self.document, self.dropped, detail["loc"])
        leaf, kind = _leaf(self.model, path)
        if detail["type"] == "missing" and leaf == path and kind is not None:
            if path not in self.dropped:
                self._tell(path, f'"{path[-1]}" is needed here', "missing")
            self.dropped.add(path[:-1])
            return
        message, code = _message(detail, at(self.document, path), _choices(kind))
        where = path if at(self.document, path) is not None else leaf
        if code != "bare-number" or leaf not in self.dropped:  # one missing unit, not one for each coordinate
            self._tell(where, message, code)
        self.dropped.add(leaf)
