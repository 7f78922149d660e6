"""Flat artwork becomes knots by coverage, with its lines kept."""
