"""Run the measuring process: ``python -m barbwright.reread``."""

import sys

from barbwright.reread.worker import serve

if __name__ == "__main__":
    serve(sys.stdin, sys.stdout)
