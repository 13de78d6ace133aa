"""A pipe whose start is partly covered: the loss behind the contracted jet."""

from __future__ import annotations

import math

import pytest
from fluids.flow_meter import discharge_coefficient_to_K

from roofwell.errors import InputError
from roofwell.physics.pipe.losses import narrowed_start_k


@pytest.mark.parametrize(("share", "discharge"), [(0.20, 0.60), (0.25, 0.605), (0.40, 0.61), (0.50, 0.61)])
def test_it_loses_what_an_orifice_in_the_pipe_loses(share: float, discharge: float) -> None:
    """The permanent loss of a sharp-edged orifice plate by ISO 5167-2 (library fluids), to a sixth.

    Discharge coefficients of the plate: 0.60 to 0.61, from memory of ISO 5167-2; the range of the standard ends at 0.56 of
    the area.
    """
    plate = discharge_coefficient_to_K(D=0.1, Do=0.1 * math.sqrt(share), C=discharge)
    assert narrowed_start_k(open_share=share) == pytest.approx(plate, rel=0.16)


def test_half_covered_by_weisbach() -> None:
    """Weisbach's contraction for half of the area, 0.676 (printed 0.681 in his table, from memory): K about 3.8."""
    assert narrowed_start_k(open_share=0.5) == pytest.approx((1 / (0.681 * 0.5) - 1) ** 2, rel=0.03)


def test_nothing_covered_loses_nothing_and_more_covered_loses_more() -> None:
    assert narrowed_start_k(open_share=1.0) == 0.0
    losses = [narrowed_start_k(open_share=share) for share in (0.9, 0.7, 0.5, 0.3, 0.1)]
    assert losses == sorted(losses)


@pytest.mark.parametrize("share", [0.0, -0.1, 1.01, math.nan])
def test_a_share_that_is_none_is_refused(share: float) -> None:
    with pytest.raises(InputError, match="start is open"):
        narrowed_start_k(open_share=share)
