"""Ctrl-C that is heard once, wherever it comes: neither lost nor shown as a traceback."""

from __future__ import annotations

import _thread
import signal
import sys
import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sys import UnraisableHookArgs

AGAIN_S = 0.02  # until one that was lost comes again


def never_lost() -> None:
    """From now on a Ctrl-C that falls where Python can raise nothing comes again a moment later, without a word.

    Python only prints what is raised while it clears up an object or a module's lock, and goes on.
    """
    before = sys.unraisablehook

    def met(lost: UnraisableHookArgs) -> None:
        if lost.exc_type is KeyboardInterrupt:
            again = threading.Timer(AGAIN_S, _thread.interrupt_main)
            again.daemon = True
            again.start()
        else:
            before(lost)

    sys.unraisablehook = met


def once_is_enough() -> None:
    """It has been heard: a further Ctrl-C while this process ends does nothing."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.SIG_IGN)
