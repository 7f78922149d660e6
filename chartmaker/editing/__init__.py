"""What happens to a knot map by hand: changes told, yarns swapped."""
