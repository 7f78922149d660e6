"""How a value is told: words, tables, JSON records."""
