"""Pictures from outside: opened under limits, placed on the knot grid."""
