"""What one holder, one file and one process may be at most, stated once: SECURITY.md shows these in its table."""

from __future__ import annotations

MOST_WINDOWS = 60  # of one holder, whether counted or filled
MOST_PIECES = 60  # that one part is cut into for the printer
MOST_ROWS = 6  # of pieces that one part is cut into, and so many columns in each
MOST_SEAMS = MOST_ROWS**2 - 1  # of one part: between its rows, and between the columns of each
MOST_JOINTS = 300  # of one part, over all its seams
MOST_NESTED = 200  # pieces laid out on sheets at a time
MANY_WINDOWS = 16  # up to here every change is tried for next steps
MOST_WINDOWS_TRIED = 120  # beyond, in all changes together that are tried
MEMORY_BYTES = 4 * 2**30  # of one process, where the system bounds it
ORDER_CPU_S = 600  # of the processor, for one command or one order of a worker
PAGE_MAKE_S = 300.0  # by the clock, for files made on the page
