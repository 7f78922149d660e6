"""The papers that are printed for the loom, the store and the dye house."""
