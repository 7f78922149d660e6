"""The tufter's pattern in full size, on a roll or on sheets that are joined, and the colour guide to it."""
