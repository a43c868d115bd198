"""Run the measuring process: ``python -m barbwright.reread``."""

import sys

from barbwright.reread.child import end_with_parent
from barbwright.reread.worker import serve

if __name__ == "__main__":
    end_with_parent()
    serve(sys.stdin, sys.stdout)
