"""The page for the loom: the row script one call at a time, which keeps the place."""
