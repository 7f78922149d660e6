"""What is looked at on a screen before anything is woven."""
