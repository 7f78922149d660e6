"""Which yarn stands for which colour of the artwork."""
