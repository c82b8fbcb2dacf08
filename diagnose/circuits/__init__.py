"""What a circuit of known parts should show: supplies, bias, screens, amplifiers, as plain arithmetic."""
