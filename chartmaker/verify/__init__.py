"""The check that a set agrees with its knot map."""
