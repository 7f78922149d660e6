"""Yarns as the workshop has them: the card, the single yarn."""
