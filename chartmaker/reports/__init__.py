"""How values are told: in words, in tables and in JSON records."""
