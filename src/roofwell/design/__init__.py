"""The design room: completes what is left out, judges all of it, and turns designed values into given ones."""

from __future__ import annotations

from roofwell.design.adopt import adopt
from roofwell.design.result import Candidate, Design
from roofwell.design.steps import design

__all__ = ["Candidate", "Design", "adopt", "design"]
