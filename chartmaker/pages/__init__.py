"""What is opened on a screen."""
