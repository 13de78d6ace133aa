"""Roofwell takes the water that falls on a roof and brings it safely into the ground."""

__version__ = "0.1.0"
