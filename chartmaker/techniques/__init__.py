"""The crafts: what the pile and the ground of each take, how fast the work goes, and what things are called."""
