"""The knot map: its file, rows, strips, mirrors, changes."""
