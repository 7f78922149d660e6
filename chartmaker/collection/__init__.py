"""A season's rugs together: which sets there are, where they are made, what they take, when they are woven.

`read_collection` says which sets a file asks for, `make_collection` makes what is missing of them and tells of all.

Examples
--------
>>> from chartmaker.collection.running import make_collection, read_collection
>>> season = read_collection("season.toml")
>>> [wanted.name for wanted in season.wanted]
['rug-dawn', 'rug-dusk']
>>> told = make_collection(season, "season")
>>> [each.state for each in told.sets]
['made', 'made']
"""
