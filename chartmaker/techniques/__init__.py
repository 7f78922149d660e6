"""The crafts: what the pile and the ground of each take, how fast it goes, and what it is called."""
