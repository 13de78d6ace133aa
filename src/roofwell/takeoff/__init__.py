"""The takeoff room; see docs/house.md."""
