"""The command line: one file a command, each a thin call of the library.

Exit codes: 0 done, 2 the input is wrong, 1 a fault of ours, 130 stopped by the person.
"""

from __future__ import annotations

from halfroll.cli.main import main

__all__ = ["main"]
