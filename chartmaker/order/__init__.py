"""What is asked for: the rug file with its tables, the rug and its density."""
