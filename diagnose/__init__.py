"""Diagnosis of vacuum-tube AM/CW transmitters from symptoms and readings."""

__version__ = "0.1.0"
