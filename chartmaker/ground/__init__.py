"""What everything stands on: errors, units, colour, text, files, engines and language."""
