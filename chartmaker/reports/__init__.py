"""How a value is told: words, tables and JSON records."""
