"""The soil room; see docs/house.md."""
