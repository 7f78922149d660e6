"""The charts: a cover, then sheet after sheet of knots."""
