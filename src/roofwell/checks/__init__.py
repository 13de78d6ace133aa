"""The checks room; see docs/house.md."""
