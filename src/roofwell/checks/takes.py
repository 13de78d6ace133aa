"""8. What does it take?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import units
from roofwell.checks.register import Context, Measured, check


@check(
    "within-budget",
    question=8,
    value="price",
    about="The price against the budget, where the job names one and every item has a price.",
    digging=False,
)
def within_budget(context: Context) -> Iterator[Measured]:
    """Nothing to judge without a typed budget."""
    budget = context.survey.targets.budget
    if budget is None:
        return
    price = context.takeoff.price
    invented = " at invented prices" if context.takeoff.prices_invented else ""
    yield Measured(
        subject="price",
        value=price if price is not None else math.nan,
        op="at most",
        limit=budget,
        scale=budget,
        show=units.show_money,
        sentence=(
            f"It takes {units.show_money(price)}{invented}."
            if price is not None
            else f"{len(context.takeoff.unpriced)} items have no price."
        ),
        source="own-choice",
    )
