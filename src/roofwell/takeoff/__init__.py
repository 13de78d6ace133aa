"""The takeoff room: from a Scheme to what must be bought, dug and paid; see docs/takeoff.md."""

from roofwell.takeoff.quantities import Item, Takeoff
from roofwell.takeoff.take_off import take_off

__all__ = ["Item", "Takeoff", "take_off"]
