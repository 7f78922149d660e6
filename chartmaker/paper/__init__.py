"""A toolkit for printed sheets that knows nothing of rugs."""
