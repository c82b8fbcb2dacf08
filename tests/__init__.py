"""Tests. They mirror the source tree; what several need lies here."""
