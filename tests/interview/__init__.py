"""Tests of the guided interview."""
