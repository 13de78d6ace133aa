"""Where a value comes from."""

from __future__ import annotations

from typing import Literal

Origin = Literal["given", "designed", "assumed", "missing"]
