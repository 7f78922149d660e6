"""Motifs that are equal in the artwork, drawn equal to the knot, and those that mirror mirrored."""
