"""Widths of trenches against the published rule, in the figures of both trades."""

from __future__ import annotations

import pytest

from roofwell.system.dug_by import least_width_m, trench_width_m, usual

INCH = 0.0254


def test_each_trade_digs_by_its_own_figures() -> None:
    """D2321 (seen second-hand): the greater of outside + 16 in and 1.25 outside + 12 in; by hand for 4.215 in: 20.215 in
    over 17.27 in. In metric 400 and 300 mm: 110 mm and 400 mm over 437.5 mm; 800 mm: 1,300 mm over 1,200 mm."""
    assert least_width_m(4.215 * INCH, usual("us")) == pytest.approx(20.215 * INCH)
    assert least_width_m(0.110, usual("metric")) == pytest.approx(0.510)
    assert least_width_m(0.800, usual("metric")) == pytest.approx(1.300)


def test_the_jobs_own_bucket_wins() -> None:
    settings = usual("metric") | {"trench_width": 0.3}
    assert trench_width_m(0.110, settings) == 0.3
    assert least_width_m(0.110, settings) == pytest.approx(0.510)
