"""The conversion of an artwork into a knot map, with arrays in and arrays out."""
