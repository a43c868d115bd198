"""A catalogue of parts: all combinations judged, those that pass made, on many machines."""
