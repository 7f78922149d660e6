"""The carver's guide: what is cut into the pile, in words and in full size."""
