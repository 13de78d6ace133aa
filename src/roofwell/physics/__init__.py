"""The physics room; see docs/house.md."""
