"""Seedbank: what a seed lot is worth, and what to do with it this season."""

import os

__version__ = "0.1.0"

# Matrices here are small: threads of the linear algebra library wait for each other longer than
# they work (advice measured 3 to 5 times slower with two). Set before numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
