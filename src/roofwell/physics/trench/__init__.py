"""The trench room; see docs/house.md."""
