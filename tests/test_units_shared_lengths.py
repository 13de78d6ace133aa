"""The page reads typed lengths as Roofwell does: the same cases are held against its TypeScript.

Expected values are arithmetic by hand on the definition of the foot (12 in, 0.3048 m exactly, see docs/units.md).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from roofwell.errors import QuantityError
from roofwell.units import Dimension, parse

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "data" / "lengths.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", CASES, ids=[f"{case['text']}|{case.get('bare', '')}" for case in CASES])
def test_a_length_is_read_as_on_the_page(case: dict[str, Any]) -> None:
    if case.get("refused"):
        with pytest.raises(QuantityError):
            parse(case["text"], Dimension.LENGTH, bare_unit=case.get("bare"))
        return
    meters = case.get("meters", case.get("feet", 0) * 0.3048 + case.get("inches", 0) * 0.0254)
    read = parse(case["text"], Dimension.LENGTH, bare_unit=case.get("bare"))
    assert read.value_si == pytest.approx(meters, rel=1e-12)
