"""What the workshop must buy, dye, wind and plan for a knot map."""
