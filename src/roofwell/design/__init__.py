"""The design room; see docs/house.md."""
