"""The areas of an array as fields, with closed outlines that share their edges, thin lines, and places for numbers."""
