"""Logs of a bench day, a proof test and the field, read as they are: faults by line, no guesses."""
