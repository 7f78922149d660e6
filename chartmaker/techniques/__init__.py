"""The crafts: what each takes, makes, is called."""
