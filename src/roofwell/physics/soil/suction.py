"""Suction at the wetting front of a soil."""

from __future__ import annotations

import math

from roofwell.errors import InputError


def wetting_front_suction_m(*, bubbling_suction_m: float, pore_size_index: float) -> float:
    """Return the effective suction head at the wetting front, m.

    psi_b (2 + 3 lambda) / (1 + 3 lambda), from the bubbling suction psi_b and the pore-size index lambda of
    the Brooks-Corey curve. Source: Ogden and Saghafian 1997, table 1 (second-hand). Raises ``InputError``
    (``soil-number``) unless both are above 0.
    """
    for value in (bubbling_suction_m, pore_size_index):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{value} must be above 0", code="soil-number")
    return bubbling_suction_m * (2 + 3 * pore_size_index) / (1 + 3 * pore_size_index)
