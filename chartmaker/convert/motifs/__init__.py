"""Motifs that are equal in the artwork are drawn equal to the knot, and those that mirror are mirrored."""
