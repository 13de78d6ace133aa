"""The papers room; see docs/house.md."""
