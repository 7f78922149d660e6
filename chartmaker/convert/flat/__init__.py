"""Flat artwork into knots: by coverage, with its lines kept."""
