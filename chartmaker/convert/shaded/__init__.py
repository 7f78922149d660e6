"""Shaded artwork becomes knots by average, with shades mixed where the order asks for it."""
