"""The basin room; see docs/house.md."""
