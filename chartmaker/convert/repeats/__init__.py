"""Repeats of flat artwork: where they are, how many whole knots each takes, one drawing for all of them.

In this order: `frames` finds the borders with the field that they enclose, `lattices` what repeats in a part of the
drawing, `finding` all that repeats in all of it.
"""
