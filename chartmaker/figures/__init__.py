"""The arithmetic of a rug: what the workshop must buy, dye, wind and plan for a knot map."""
