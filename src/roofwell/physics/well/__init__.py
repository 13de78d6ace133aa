"""The well room; see docs/house.md."""
