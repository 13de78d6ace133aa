"""The pipe room; see docs/house.md."""
