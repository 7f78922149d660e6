"""What the tests share: makers of rugs, readers of our outputs, and ways to make things fail."""
