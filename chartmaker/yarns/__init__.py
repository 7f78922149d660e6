"""Yarns as the workshop has them: the card and the single yarn."""
