"""Closed loop: simulated sets with known faults, interviewed until the remedy is found."""
