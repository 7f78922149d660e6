"""How values are told to programs: one JSON record for each, under names that scripts rely on."""
