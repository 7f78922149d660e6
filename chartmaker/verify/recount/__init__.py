"""The figures of a rug, reckoned a second time from its knots and settings by code that prints nothing."""
