"""The command line: one file a command, each a thin call of the library.

Exit codes: 0 done, 2 the input is wrong, 1 a fault of ours, 130 stopped by the person.
"""

from __future__ import annotations

import os

# The matrices here are small: shared out over several threads they take longer, and much longer on a busy computer.
# This must be said before numpy is loaded; processes that are started from here inherit it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from halfroll.cli.main import main

__all__ = ["main"]
