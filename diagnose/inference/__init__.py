"""Exact inference in networks of noisy-MAX nodes. Knows nothing of transmitters, files or screens."""
