"""From files to model values and back: after this layer nobody knows that YAML exists."""
