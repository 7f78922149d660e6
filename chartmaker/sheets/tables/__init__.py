"""The sheets of figures: yarn, dye order, what is handed out."""
