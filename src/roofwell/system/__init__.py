"""The system room; see docs/house.md."""
