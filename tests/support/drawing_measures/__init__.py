"""The measures of a knot drawing, written apart from the converter that they judge."""
