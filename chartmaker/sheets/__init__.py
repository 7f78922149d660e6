"""What is printed for the loom, the store, the dye house."""
