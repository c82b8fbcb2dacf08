"""Tests of what a circuit of known parts should show."""
