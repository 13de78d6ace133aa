"""The design room: completes what is left out, judges all of it, and turns designed values into given ones."""

from __future__ import annotations

from roofwell.design.adopt import adopt
from roofwell.design.further import AtOnce, Standing, look_further
from roofwell.design.result import Candidate, Design
from roofwell.design.steps import at_once, design, stand

__all__ = ["AtOnce", "Candidate", "Design", "Standing", "adopt", "at_once", "design", "look_further", "stand"]
