"""From what the person gave to the likelihood of each state of an indication."""
