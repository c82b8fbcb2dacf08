"""Supplies simulated by ngspice: their parts, the netlists made of these, and what the simulator found."""
