"""What to do next: what a check would tell, what it costs, and whether it is safe yet."""
