"""What a process may take of the machine, kept by the system itself: memory, and time of the processor.

Linux bounds both. macOS bounds the time and lets the memory pass; Windows bounds neither here, and there the page's
clock alone ends what takes too long. :func:`bounded_here` says which.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from holders.core.errors import MachineError
from holders.core.limits import MEMORY_BYTES, ORDER_CPU_S


class TooMuchTime(MachineError):
    """The processor's time was used up; nothing of the work is kept."""


def bounded_here() -> tuple[bool, bool]:
    """Whether this system bounds memory, and time of the processor."""
    return sys.platform == "linux", sys.platform != "win32"


def bound_memory(most_bytes: int = MEMORY_BYTES) -> bool:
    """Let this process hold no more than that; what asks for more meets ``MemoryError``. False where not possible."""
    if not bounded_here()[0]:
        return False
    import resource  # noqa: PLC0415 - not on Windows

    soft, hard = resource.getrlimit(resource.RLIMIT_DATA)
    wanted = min(most for most in (most_bytes, soft, hard) if most != resource.RLIM_INFINITY)
    with suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_DATA, (wanted, hard))
        return True
    return False


@contextmanager
def bounded_time(most_s: int = ORDER_CPU_S) -> Iterator[None]:
    """Within it, no more than that of the processor's time; only in a process's main thread, elsewhere no bound.

    Raises ``TooMuchTime`` in the midst of the work, as Ctrl-C would; what is in a library of compiled code comes back
    from there first.
    """
    if not bounded_here()[1] or threading.current_thread() is not threading.main_thread():
        yield
        return
    import resource  # noqa: PLC0415 - not on Windows

    def over(*_: object) -> None:
        raise TooMuchTime(
            f"it took more than {most_s} s of the processor's time, so it was stopped; nothing was half-written. Ask "
            "for less at once: fewer windows, a smaller holder, a smaller scan"
        )

    before = signal.signal(signal.SIGXCPU, over)
    limits = resource.getrlimit(resource.RLIMIT_CPU)
    _allow(most_s, limits)
    try:
        yield
    finally:
        with suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_CPU, limits)
        signal.signal(signal.SIGXCPU, before)


def _allow(most_s: int, limits: tuple[int, int]) -> None:
    import resource  # noqa: PLC0415

    used = resource.getrusage(resource.RUSAGE_SELF)
    wanted = int(used.ru_utime + used.ru_stime) + most_s
    soft = min(most for most in (wanted, *limits) if most != resource.RLIM_INFINITY)
    with suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CPU, (soft, limits[1]))
