"""The ground room; see docs/house.md."""
