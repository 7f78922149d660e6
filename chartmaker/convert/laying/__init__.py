"""How the knot grid is laid over flat artwork, so that its lines fall where the drawing's own edges are."""
