"""What a knot drawing is measured by, written apart from the converter that it judges."""
