"""What is drawn full size, on a roll or on sheets that are joined: the tufter's pattern and the colour guide."""
