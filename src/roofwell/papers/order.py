"""``order.csv``: the order list for a spreadsheet, one line an item, figures as numbers."""

from __future__ import annotations

import csv
import io
import math

from roofwell.design.result import Design

COLUMNS = ("group", "item", "what", "quantity", "unit", "where", "note", "price each", "amount", "currency")


def order_csv(design: Design) -> bytes:
    """Return the order list as CSV (RFC 4180): UTF-8 with a byte-order mark, lines end in CR LF.

    After the items come the values that the quantities rest on while nobody has measured them, group
    ``assumed``. What is not known is an empty cell. A text that a spreadsheet would take for a formula gets an apostrophe
    before it.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    takeoff = design.takeoff
    for item in takeoff.items:
        texts = [item.group, item.key, item.what, item.unit, item.where, item.note]
        group, key, what, unit, where, note = (_harmless(text) for text in texts)
        priced = takeoff.currency if item.price_each is not None else ""
        writer.writerow(
            [group, key, what, _number(item.quantity), unit, where, note, _number(item.price_each),
             _number(item.amount), _harmless(priced)]
        )  # fmt: skip
    for value in design.assumed:
        texts = [value.path, value.what, f"{value.text} assumed: {value.how_to_measure}"]
        path, what, note = (_harmless(text) for text in texts)
        writer.writerow(["assumed", path, what, "", "", "", note, "", "", ""])
    return stream.getvalue().encode("utf-8-sig")


def _number(value: float | None) -> str:
    if value is None or not math.isfinite(value):
        return ""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def _harmless(text: str) -> str:
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
