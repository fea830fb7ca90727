"""Whether a rectangle can be turned to lie inside another."""

from __future__ import annotations


def fits_turned(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p x q can be turned to lie inside a rectangle a x b.

    W. B. Carver, "Solution to Problem E 1225", American Mathematical Monthly 64 (1957) 114 (from memory; the
    tests compare it with trying every angle).
    """
    p, q, a, b = max(p, q), min(p, q), max(a, b), min(a, b)
    if p <= a and q <= b:
        return True
    if q > b or p <= a:
        return False
    return ((a + b) / (p + q)) ** 2 + ((a - b) / (p - q)) ** 2 >= 2
