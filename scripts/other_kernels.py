"""Run the numerical tests again under other BLAS kernels than the processor's own choice.

OpenBLAS carries one set of routines for each family of processors; they add in another order, so the last digits
differ. A test that passes under one only is not a test. ``python scripts/other_kernels.py [--list] [pytest options]``.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# first the usual ones; the last needs nothing that the oldest processor lacks, and runs only if no other can
KERNELS = {"x86_64": ("Haswell", "SkylakeX", "Nehalem"), "aarch64": ("NEOVERSEN1", "ARMV8")}
SAME = {"Zen": "Haswell", "Cooperlake": "SkylakeX", "SapphireRapids": "SkylakeX"}  # share most routines
TESTS = ("tests/film",)
PROBE = """
import ctypes, pathlib, sys
import numpy as np
import scipy.linalg
a = np.random.default_rng(1).normal(size=(200, 200))
assert np.allclose(np.linalg.solve(a, a @ a), a) and np.allclose(scipy.linalg.solve(a, a @ a), a)
for library in sorted({line.split()[-1] for line in open("/proc/self/maps") if "openblas" in line}):
    loaded = ctypes.CDLL(library)
    for name in ("scipy_openblas_get_corename64_", "scipy_openblas_get_corename", "openblas_get_corename"):
        if hasattr(loaded, name):
            ask = getattr(loaded, name)
            ask.restype = ctypes.c_char_p
            print(ask().decode())
            sys.exit()
"""


def used(kernel: str | None) -> str | None:
    """The kernel that numpy really runs when this one is asked for (None: its own choice); None if it cannot."""
    asked = {} if kernel is None else {"OPENBLAS_CORETYPE": kernel}
    ran = subprocess.run(
        [sys.executable, "-c", PROBE], env=os.environ | asked, capture_output=True, text=True, check=False
    )
    return ran.stdout.strip() or None if ran.returncode == 0 else None


def others() -> list[str]:
    """Kernels to test besides the one the tests run under anyway; says of each other one why not."""
    own = used(None)
    if own is None:
        print("numpy does not use OpenBLAS here, or does not say so: no other kernel to try")
        return []
    print(f"the tests' own run uses the BLAS kernel {own}")
    *usual, plain = KERNELS.get(platform.machine().replace("AMD64", "x86_64"), ("",))
    chosen = []
    for kernel in usual:
        if SAME.get(own, own).lower() == kernel.lower():
            continue
        if (used(kernel) or "").lower() == kernel.lower():
            chosen.append(kernel)
        else:
            print(f"this processor does not support {kernel}")
    if not chosen and plain and used(plain):
        chosen.append(plain)
    return chosen


def main(arguments: list[str]) -> int:
    kernels = others()
    failed = 0
    for kernel in kernels:
        print(f"numerical tests under {kernel}", flush=True)
        if "--list" in arguments:
            continue
        command = [sys.executable, "-m", "pytest", "-q", *TESTS, *arguments]
        failed |= subprocess.run(
            command, cwd=ROOT, env=os.environ | {"OPENBLAS_CORETYPE": kernel}, check=False
        ).returncode
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
