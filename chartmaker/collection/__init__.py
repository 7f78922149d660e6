"""A season of rugs: which sets there are, where they are made, what they take together, and when they are woven.

`read_collection` says which sets a file asks for; `make_collection` makes those that are missing and reports on all.

Examples
--------
>>> from chartmaker.collection.running import make_collection, read_collection
>>> season = read_collection("season.toml")
>>> [wanted.name for wanted in season.wanted]
['d0-rug-6x8-cm-dawn', 'd0-rug-6x8-cm-dusk', 'd0-rug-3x4-cm-dawn', 'd0-rug-3x4-cm-dusk']
>>> told = make_collection(season, "season")
>>> [each.state for each in told.sets]
['made', 'made', 'made', 'made']
"""
