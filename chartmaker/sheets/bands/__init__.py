"""The hand loom's table of bands."""
