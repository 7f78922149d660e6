"""Pictures from outside: opened under limits, placed on the knot grid, and what repeats in a part of one."""
