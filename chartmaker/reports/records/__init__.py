"""How a value is told to programs: one JSON record a value, under the names that scripts rely on."""
