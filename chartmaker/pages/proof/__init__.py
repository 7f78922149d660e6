"""The proof: the rug as it will look woven."""
