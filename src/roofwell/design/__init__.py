"""The design room: completes what is left out, judges all of it, and turns designed values into given ones."""

from __future__ import annotations

from roofwell.design.adopt import adopt
from roofwell.design.further import Standing, look_further
from roofwell.design.result import Candidate, Design
from roofwell.design.steps import design, stand

__all__ = ["Candidate", "Design", "Standing", "adopt", "design", "look_further", "stand"]
