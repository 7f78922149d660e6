"""The charts, which are a cover and then sheet after sheet of knots."""
