"""Shaded artwork into knots: by average, with shades mixed where asked."""
