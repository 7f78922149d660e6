"""Yarns as the workshop knows them: the card and the single yarn."""
