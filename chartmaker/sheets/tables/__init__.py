"""The sheets of figures, of the dye order, and of the yarn that is handed out."""
