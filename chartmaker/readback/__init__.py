"""A printed sheet read back: its objects, its operators, its letters and what they print, for verify alone."""
