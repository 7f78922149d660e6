"""The row script, laid out for printing."""
