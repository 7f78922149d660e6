"""A set that was made, held against its knot map."""
