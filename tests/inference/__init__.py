"""Proof of the exact inference."""
