"""Every read of a limit or an assumption is given the style where the two trades use different figures.

Found by parsing the package, not by running it: a metric job that silently takes the figure in inches, converted, looks
right in every other test.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import roofwell
from roofwell import tables
from roofwell.units import Style

ROOT = Path(roofwell.__file__).parent
READS = {"limit": tables.limit, "assumption": tables.assumption}
ONE_FIGURE = {"value_si", "source", "key", "dimension"}
"""What may be read without a style where it is the same in both."""


def reads(tree: ast.AST) -> Iterator[tuple[ast.Call, str | None]]:
    """Every call of ``tables.limit`` or ``tables.assumption``, with the attribute that is taken of it."""
    taken = {
        id(node.value): node.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Call)
    }
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in READS
            and isinstance(node.func.value, ast.Name)
            and node.func.value.id == "tables"
        ):
            yield node, taken.get(id(node))


def keys_of(node: ast.expr) -> list[str] | None:
    """The keys that a call can ask for; None where they are not written out."""
    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.IfExp):
        first, second = keys_of(node.body), keys_of(node.orelse)
        return None if first is None or second is None else first + second
    return None


def differs(read: str, key: str, attribute: str | None) -> bool:
    """Whether what is taken of a row is another thing in the other style; without an attribute, the whole row."""
    styles: tuple[Style, Style] = ("us", "metric")
    first, second = (READS[read](key, style) for style in styles)
    if attribute in ONE_FIGURE:
        return getattr(first, attribute) != getattr(second, attribute)
    return first != second


def without_style(text: str, name: str = "") -> list[str]:
    """Reads of a text of Python that may take the wrong figure, as words for the person who wrote them."""
    wrong = []
    for call, attribute in reads(ast.parse(text)):
        if len(call.args) + len(call.keywords) >= 2:
            continue
        assert isinstance(call.func, ast.Attribute)
        keys = keys_of(call.args[0])
        if keys is None:
            wrong.append(f"{name}:{call.lineno} {ast.unparse(call)}: whose style? the key is not written out")
            continue
        wrong += [
            f"{name}:{call.lineno} {ast.unparse(call)}: {key} is another figure in metric; give it the style"
            for key in keys
            if differs(call.func.attr, key, attribute)
        ]
    return wrong


def test_no_read_takes_the_other_trades_figure() -> None:
    wrong, seen = [], 0
    for path in sorted(ROOT.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        seen += sum(1 for _ in reads(ast.parse(text)))
        wrong += without_style(text, str(path.relative_to(ROOT)))
    assert seen > 200  # else the reads are called otherwise by now, and this test sees none
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("text", "refused"),
    [
        ('tables.assumption("stone-below").value_si', True),  # 6 in, 150 mm
        ('tables.assumption("stone-below", style).value_si', False),
        ('tables.limit("snow-month" if a else "cover-scale")', True),
        ("tables.limit(key)", True),
        ('tables.assumption("voids").value_si', False),  # a share is a share
        ('tables.limit("spreader-for-flow").value_si', False),  # 10 ft, told as 3.048 m in metric
        ('tables.limit("spreader-for-flow").text', True),
    ],
)
def test_what_is_refused(text: str, refused: bool) -> None:
    assert bool(without_style(text)) is refused
