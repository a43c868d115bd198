"""Standing here, this file puts tests/ on the path, so that tests can import example_shapes.

Random tests draw the same examples every time, so that a green suite stays green: what a wider
search finds becomes an example of its own. BARBWRIGHT_RANDOM=1 searches anew at every run.
"""

import os

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("searching", derandomize=False, deadline=None)
settings.load_profile("searching" if os.environ.get("BARBWRIGHT_RANDOM") else "same")
