"""The documents described: their pages in ``docs/`` and the JSON Schema, made from the models.

What a leaf means stands once, in ``leaves.toml``; its kind, its choices and whether it is needed come from
the model itself.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import cache
from importlib import resources
from typing import Any, Literal, get_args, get_origin

from roofwell.job import model
from roofwell.job.fields import EXAMPLES, QuantityOf, Table
from roofwell.job.files import shipped_rules_folder
from roofwell.job.prices import PriceBook
from roofwell.job.problems import bare, entries_of, is_table
from roofwell.job.rules import RuleFile, RuleQuantity
from roofwell.units import Dimension

_MADE = "<!-- Made from the model by roofwell.job.described; a test fails when it lags behind. -->"
_PLAIN = {"str": "text", "bool": "true or false", "int": "whole number", "float": "number", "date": "day"}


@cache
def meanings() -> dict[str, dict[str, str]]:
    """Return what every leaf means, by the name of its table's model, and what every problem code means."""
    text = (resources.files(__package__) / "leaves.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def meaning(table: type[Table], key: str) -> str:
    """Return what a leaf means; raises ``KeyError`` if ``leaves.toml`` does not say."""
    every = meanings()["every"]
    own = meanings()[table.__name__]
    return own[key] if key in own else every[key]


def tables_of(root: type[Table]) -> Iterator[tuple[str, type[Table]]]:
    """Yield every table below ``root`` with its header as it stands in a file, in the order of the model."""
    waiting: list[tuple[str, type[Table], bool]] = [("", root, True)]
    while waiting:
        header, table, headed = waiting.pop(0)
        yield header, table
        inner: list[tuple[str, type[Table], bool]] = []
        for name, field in table.model_fields.items():
            key, kind = field.alias or name, bare(field.annotation)
            path = f"{header.strip('[]')}.{key}" if header else key
            if is_table(kind):
                inner.append((f"[{path}]", kind, True))
            elif entries := entries_of(kind):
                container, entry = entries
                inner.append((f"[{path}.LABEL]" if container is dict else f"[[{path}]]", entry, headed))
        waiting = inner + waiting


def _marks(annotation: Any) -> Iterator[Any]:
    yield from getattr(annotation, "__metadata__", ())
    for part in get_args(annotation):
        yield from _marks(part)


def kind_of(annotation: Any, metadata: tuple[Any, ...] = ()) -> str:
    """Say in words what a leaf may hold."""
    inner = bare(annotation)
    marks = [mark for mark in (*metadata, *_marks(annotation)) if isinstance(mark, QuantityOf)]
    if marks and get_origin(inner) is tuple:
        parts = get_args(inner)
        if Ellipsis not in parts:
            return "point [east, north]"
        if get_origin(bare(parts[0])) is tuple:
            return "list of points"
    if marks:
        return _quantity(marks[0], many=get_origin(inner) is tuple)
    if is_table(inner):
        return "table"
    if entries := entries_of(inner):
        return "a table for each label" if entries[0] is dict else "a list of tables"
    if get_origin(inner) is tuple:
        return f"list of: {kind_of(get_args(inner)[0])}"
    if get_origin(inner) is dict:
        return "texts by key"
    if get_origin(inner) is Literal:
        return ", ".join(
            f"`{word!r}`" if isinstance(word, int) else f'`"{word}"`' for word in get_args(inner)
        )
    return _PLAIN[inner.__name__]


def _quantity(mark: QuantityOf, *, many: bool) -> str:
    noun = {Dimension.RATIO: "share or factor", Dimension.MONEY: "amount"}.get(mark.dimension)
    said = ("list of: " if many else "") + (noun or mark.dimension.value)
    said += {"any": "", "not negative": ", not below zero", "positive": ", above zero"}[mark.sign]
    examples = EXAMPLES.get(mark.dimension, [])
    said += f', such as `"{examples[0]}"`' if examples else ""
    return said + (', or `"ask the office"`' if isinstance(mark, RuleQuantity) else "")


def _sections(root: type[Table]) -> Iterator[str]:
    for header, table in tables_of(root):
        yield f"## `{header}`" if header else "## The top of the file"
        yield ""
        about = " ".join((table.__doc__ or "").split("\n\n")[0].replace("``", "`").split())
        about = about.partition("]`: ")[2] or about
        yield about[0].upper() + about[1:]
        yield ""
        yield "| key | what it is | what it may hold |"
        yield "|---|---|---|"
        for name, field in table.model_fields.items():
            key = field.alias or name
            if key not in ("unit", "note"):
                kind = kind_of(field.annotation, tuple(field.metadata)).replace("|", "\\|")
                yield f"| `{key}` | {meaning(table, key)} | {kind} |"
        yield ""


_JOB = """# The job document

{made}

A job is a TOML file. `roofwell start FILE` writes one to begin with, `roofwell schema` prints its
JSON Schema. What is given is checked, what is left out is designed, what is not known is said: every
key may be left out but `document = 1` and those marked *Needed*.

- A quantity is a text with its unit, as the trade says it. A bare number is refused, unless its table
  says `unit = "ft"`: that unit serves every bare length in the table and in the list entries in it.
- A point is `[east, north]` in the job's own frame: the first number to the right on the plan, the second
  up. True north may lie elsewhere; `[frame]` says where. An outline is not closed: its last corner is not
  its first.
- The path of a run begins at the part that the water comes from and ends at the part that it goes to.
- A part whose `state` is `"abandoned"` carries no water and is counted nowhere.
- A label (`D1`, `P3`, `B1`, `W1`) names one part of the whole job; papers and findings use it.
- Every table may hold a `note`, which is printed and never reckoned with.
- Files that a job names lie in its own folder or in a folder inside it.

All problems of a document are told at once, each with its key path, its line, what was read and what
would be right; the codes stand at the end.

"""

_RULES = """# Rule files

{made}

What varies by place stands in a rule file, one for each permit office, and nowhere else. A job names
it under `[place]`: by the id of one that comes with Roofwell (those are invented and say so), or by
the name of a file of yours beside the job. Ask the office, write down what it says and when.

A rule that is left out is none: the office says nothing about it. A rule that exists but that nobody
has asked for yet is `"ask the office"`; what depends on it then reads `unknown`.

"""

_PRICES = """# The price book

{made}

Prices stand in a file of their own beside the job, dated, and named in the job under `[prices]`.
Margin stands in neither. The price book that comes with Roofwell is invented and says so; until your
own is in, systems are ranked by tons, yards and hours; then routes follow its prices too.

The key of an item is the key of the order: `pipe:sdr-35:4in`, `fitting:elbow-45:4in`,
`basin:round-18`, `body:body-24x48`, `stone:57`, `geotextile`, `bore:walk`, `cut:drive`, `spoil`,
`labor`, `excavator`. An item may have a price for several units; one is never converted into another.
An item that is not in the book has no price, and the order says so.

```toml
[items]
"stone:57" = {{ ton = 41.50, "cu yd" = 56.00 }}
labor = {{ h = 54.00 }}
```

"""


def job_page() -> str:
    """Return docs/job-document.md."""
    codes = [f"| `{code}` | {what} |" for code, what in meanings()["codes"].items()]
    head = ["## Problem codes", "", "| code | what is wrong |", "|---|---|"]
    return _JOB.format(made=_MADE) + "\n".join([*_sections(model.Job), *head, *codes]) + "\n"


def rules_page() -> str:
    """Return docs/rule-files.md."""
    whole = (shipped_rules_folder() / "juniper-county.toml").read_text(encoding="utf-8").strip()
    last = ["## The whole of a shipped one", "", "```toml", whole, "```"]
    return _RULES.format(made=_MADE) + "\n".join([*_sections(RuleFile), *last]) + "\n"


def prices_page() -> str:
    """Return docs/price-book.md."""
    return _PRICES.format(made=_MADE) + "\n".join(_sections(PriceBook))


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the job document, each leaf with what it means."""
    schema = model.json_schema()
    definitions: dict[str, Any] = schema.get("$defs", {})
    for name, definition in (("Job", schema), *definitions.items()):
        for key, leaf in definition.get("properties", {}).items():
            said = meanings().get(name, {}).get(key) or meanings()["every"].get(key)
            if said is not None:
                kind = leaf.get("description")
                leaf["description"] = f"{said} ({kind})" if kind else said
    return schema


PAGES = {"job-document.md": job_page, "rule-files.md": rules_page, "price-book.md": prices_page}
