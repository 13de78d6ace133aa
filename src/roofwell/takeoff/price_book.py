"""What the take-off asks of a price book, whatever it is read from."""

from __future__ import annotations

from datetime import date
from typing import Protocol


class Prices(Protocol):
    """What the take-off asks of a price book (``roofwell.job.prices.PriceBook``)."""

    @property
    def dated(self) -> date: ...
    @property
    def currency(self) -> str: ...
    @property
    def name(self) -> str | None: ...
    @property
    def invented(self) -> bool | None: ...
    def price(self, key: str, per: str) -> float | None: ...
