"""The cli room; see docs/house.md."""
