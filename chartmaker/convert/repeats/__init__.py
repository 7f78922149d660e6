"""The repeats of flat artwork are found in its borders and in its field.

`frames` finds the borders and the field that they enclose, `lattices` finds what repeats in one part of the drawing,
and `finding` puts together all that repeats in the whole of it.
"""
