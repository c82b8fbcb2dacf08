"""Readings that belong together: over time, over the bands."""
