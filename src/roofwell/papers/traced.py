"""The traces of a design for all papers that draw or list them, worked out once."""

from __future__ import annotations

import threading

from roofwell.design.result import Design
from roofwell.system.traces import Traces, traces

_lock = threading.Lock()
_last: tuple[Design, Traces] | None = None


def traces_of(design: Design) -> Traces:
    """Return the traces of a design; those of the last one are kept, for several papers ask at the same time."""
    global _last
    with _lock:
        if _last is None or _last[0] is not design:
            _last = (design, traces(design.job, design.scheme, design.survey, design.behaviour))
        return _last[1]
