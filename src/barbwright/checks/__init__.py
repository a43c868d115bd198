"""Equations applied to a design at its worst case: one function per check."""
