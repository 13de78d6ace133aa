"""The scales of paper that a scale ruler has, and the points on paper per metre of ground."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

POINTS_PER_METER = 72 / 0.0254


@dataclass(frozen=True, slots=True)
class Scale:
    """One scale: its words and how many times smaller than true it is."""

    text: str
    times_smaller: float

    @property
    def points_m(self) -> float:
        """Points (1/72 in) on paper per metre of ground."""
        return POINTS_PER_METER / self.times_smaller


def _inches_a_foot(*texts: str) -> tuple[Scale, ...]:
    return tuple(Scale(f"{text} in = 1 ft", float(12 / Fraction(text))) for text in texts)


PLAN_US = (
    *_inches_a_foot("1/4", "3/16", "1/8"),
    Scale("1 in = 10 ft", 120.0),
    *_inches_a_foot("3/32", "1/16"),
    *(Scale(f"1 in = {feet} ft", 12.0 * feet) for feet in (20, 30, 40, 50, 60, 100, 200, 400)),
)
PLAN_METRIC = tuple(Scale(f"1:{n}", float(n)) for n in (50, 100, 200, 250, 500, 1000, 2000, 5000))
DETAIL_US = _inches_a_foot("1", "3/4", "1/2", "3/8", "1/4", "3/16", "1/8", "3/32", "1/16")
DETAIL_METRIC = tuple(Scale(f"1:{n}", float(n)) for n in (10, 20, 25, 50, 100, 200))


def ladder(kind: str, system: str) -> tuple[Scale, ...]:
    """Return the scales of a "plan" or "detail", "us" or "metric", largest first."""
    if kind == "detail":
        return DETAIL_US if system == "us" else DETAIL_METRIC
    return PLAN_US if system == "us" else PLAN_METRIC


def fit(
    *, width_m: float, height_m: float, width_pt: float, height_pt: float, scales: tuple[Scale, ...]
) -> Scale:
    """Return the largest scale at which a rectangle fits on the paper, or the smallest of the ladder."""
    for scale in scales:
        if width_m * scale.points_m <= width_pt and height_m * scale.points_m <= height_pt:
            return scale
    return scales[-1]
