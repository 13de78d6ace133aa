"""The price book: a dated file that the user owns, TOML with ``prices = 1``.

The shipped one says that its prices are invented; until the user's own are in, systems are ranked by
tons, yards and hours.
"""

from __future__ import annotations

from datetime import date as Day
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from roofwell import tables
from roofwell.errors import InternalError
from roofwell.job.fields import Money, Table
from roofwell.job.files import beside, outside
from roofwell.job.problems import Fault, Problem, shown
from roofwell.job.second_files import read_second
from roofwell.units import Quantity

_SHIPPED = "invented.toml"


class PriceItem(Table):
    """``[items.KEY]``: one thing with its price for one unit of the order, or for several.

    The keys are the units as the order writes them: a yard's ton and its cubic yard have prices of their
    own, and one is never converted into the other.
    """

    each: Money | None = None
    stick: Money | None = None
    foot: Annotated[Money | None, Field(alias="ft")] = None
    square_yard: Annotated[Money | None, Field(alias="sq yd")] = None
    cubic_yard: Annotated[Money | None, Field(alias="cu yd")] = None
    ton: Money | None = None
    meter: Annotated[Money | None, Field(alias="m")] = None
    square_meter: Annotated[Money | None, Field(alias="m²")] = None
    cubic_meter: Annotated[Money | None, Field(alias="m³")] = None
    metric_ton: Annotated[Money | None, Field(alias="t")] = None
    roll: Money | None = None
    load: Money | None = None
    hour: Annotated[Money | None, Field(alias="h")] = None
    day: Money | None = None
    what: str | None = None

    def price(self, per: str) -> float | None:
        """Return the price of one ``per``, ``None`` if there is none in that unit."""
        for name, field in PriceItem.model_fields.items():
            if (field.alias or name) == per and name not in ("what", *Table.model_fields):
                money: Quantity | None = getattr(self, name)
                return None if money is None else money.value_si
        return None


class PriceBook(Table):
    """A dated list of prices, version 1."""

    prices: Literal[1]
    dated: Day
    currency: str
    name: str | None = None
    invented: bool | None = None
    items: dict[str, PriceItem] = Field(default_factory=dict)

    def price(self, key: str, per: str) -> float | None:
        """Return the price of one ``per`` (``stick``, ``ton``) of an item, ``None`` if the book has none."""
        item = self.items.get(key)
        return None if item is None else item.price(per)


def load_prices(name: str, folder: Path | None) -> tuple[PriceBook | None, tuple[Problem, ...]]:
    """Read the price book called ``name`` inside ``folder``.

    Returns
    -------
    The book with every good price; ``None`` if the file is not there, is no price book of version 1 or
    lacks what every price book needs. And the problems, whose paths begin with the name of the file. Never
    raises for the content of the file.
    """
    reason = outside(name)
    if reason is not None:
        return None, (Problem("prices.file", None, shown(name), reason, "file-outside"),)
    file = beside(name, folder) if folder is not None else None
    if file is None:
        message = "there is no such price book beside the job"
        return None, (Problem("prices.file", None, shown(name), message, "file-missing"),)
    return read_second(PriceBook, file, name=name, version_key="prices", faults=_faults)


@cache
def shipped_prices() -> PriceBook:
    """Return the price book that comes with Roofwell. Its prices are invented and it says so."""
    file = resources.files(tables) / "prices" / _SHIPPED
    book, problems = read_second(PriceBook, file, name=_SHIPPED, version_key="prices", faults=_faults)
    if book is None or problems:
        raise InternalError("the shipped price book cannot be read", code="shipped-prices")
    return book


def _faults(book: PriceBook) -> list[Fault]:
    if len(book.currency) <= 8:
        return []
    message = 'write the currency in a word, such as "USD"'
    return [Fault(("currency",), message, "not-a-currency", (("currency",),))]
