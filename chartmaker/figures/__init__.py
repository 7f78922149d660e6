"""What the workshop must buy, dye, wind, plan for a knot map."""
