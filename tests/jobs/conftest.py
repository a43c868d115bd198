"""Standing here, this file lets the page tests use the headless browser of tests/report."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "report"))
