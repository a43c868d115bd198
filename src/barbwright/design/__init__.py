"""Numbers only: sizes from measurements, and outlines to be built.

Nothing in here knows the CAD kernel. Every size is a float or an array, so that
one design and a hundred thousand go through the same lines.
"""
