"""Areas of one label in an array as fields: closed outlines that share their edges, thin lines, places for numbers."""
