"""The roof room; see docs/house.md."""
