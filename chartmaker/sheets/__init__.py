"""The printed sheets: knot charts, row scripts, the workshop's lists."""
