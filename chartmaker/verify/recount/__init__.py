"""The figures of a rug reckoned a second time, from its knots and its settings, by code that nobody prints with."""
