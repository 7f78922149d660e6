"""The knot grid is laid over flat artwork so that its lines fall on the drawing's own edges."""
