"""The row script, laid out for print."""
