"""The page of a collection: every rug to scale."""
