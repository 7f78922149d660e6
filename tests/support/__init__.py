"""What tests are made with: makers of rugs, readers of our outputs, ways to let things fail."""
