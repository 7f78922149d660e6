"""The repeats of flat artwork are found in its borders and in its field.

`frames` finds the borders and the field that they enclose, and `finding` puts together all that repeats in the whole
of the drawing.
"""
