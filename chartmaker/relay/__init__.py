"""One drawing in every size: its parts are kept as they are, and only their number or their place changes."""
