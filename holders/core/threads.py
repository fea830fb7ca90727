"""One thread for linear algebra: our systems are small, and threads waiting for each other cost more than they gain."""

from __future__ import annotations

import os

NAMES = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def one_thread() -> None:
    """Ask for it, unless the user has asked for something else; to be called before numpy is imported.

    Processes that are started later inherit it.
    """
    for name in NAMES:
        os.environ.setdefault(name, "1")
