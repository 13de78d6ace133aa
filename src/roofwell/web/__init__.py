"""The service behind the page: thin, computes nothing. ``make_app`` puts it together."""

from __future__ import annotations

from roofwell.web.app import make_app
from roofwell.web.gate import Gate

__all__ = ["Gate", "make_app"]
