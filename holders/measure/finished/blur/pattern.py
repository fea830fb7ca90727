"""Which simple shape the blur follows: a middle that sags, a film that leans, edges that curl, one bad edge.

Blur is a distance without its sign, so each shape is fitted as the size of a height. A shape is named only where it
explains the map clearly better than the shapes that ask for another cure.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from holders.measure.scan.spectra import F64

Pattern = Literal["even", "soft", "sag", "tilt", "curl", "ends", "edge", "unclear"]
KNEE = 0.5  # blur, as a share of that at the band's rim, below which nothing tells it from none
EVEN = 0.3  # scatter about the middle blur that is no pattern
EXPLAINED = 0.6
CLEARLY = 1.35  # the second best shape leaves so much more
OF_A_PAIR = 5.0  # how much more the second best of two shapes that are nearly alike must leave
LEAST_CELLS = 9
RIM = 0.7  # from here on, of -1 to 1, a place belongs to an edge


def classify(blur: F64, known: NDArray[np.bool_]) -> tuple[Pattern, float]:
    """The pattern of a map (rows, columns) of blur, 1 at the rim of the band, and the share of it explained."""
    if known.sum() < LEAST_CELLS:
        return "unclear", 0.0
    v, u = np.meshgrid(np.linspace(-1, 1, blur.shape[0]), np.linspace(-1, 1, blur.shape[1]), indexing="ij")
    u, v, seen = u[known], v[known], np.minimum(blur[known], 3.0)
    if float((seen < 1.0).mean()) > 0.95:
        return "even", 1.0
    if float((seen > 1.0).mean()) > 0.95 and float(seen.std()) < 0.25 * float(seen.mean()):
        return "soft", 1.0
    return _shape(u, v, seen)


def _shape(u: F64, v: F64, seen: F64) -> tuple[Pattern, float]:
    """Which shape explains a blur that is neither even nor the same all over."""
    one, cap = np.ones_like(u), (1 - u * u) * (1 - v * v)
    shapes = {
        "tilt": [one, u, v], "sag": [one, cap, u * cap, v * cap], "curl across": [one, u * u, u],
        "curl along": [one, v * v, v],
    }  # fmt: skip
    whole = float(np.var(_knee(seen)))
    rest = {name: _misfit(np.stack(columns, axis=1), seen) for name, columns in shapes.items()}
    edge = _edge(u, v, seen)
    if edge < 1.3 * min(rest.values()):
        return "edge", 1.0 - edge / whole
    curl = min(rest["curl across"], rest["curl along"])
    found = {"tilt": rest["tilt"], "sag": rest["sag"], "curl": curl}
    order = sorted(found, key=lambda name: found[name])
    explained = 1.0 - found[order[0]] / max(whole, 1e-9)
    if explained < EXPLAINED:
        return "unclear", explained
    # a lean through the sharp plane and a curl differ only between |u| and u squared
    pair = {"tilt", "curl"} == set(order[:2])
    if found[order[1]] > (OF_A_PAIR if pair else CLEARLY) * found[order[0]]:
        return order[0], explained  # type: ignore[return-value]
    both_ends = pair and found[order[2]] > CLEARLY * found[order[0]]
    if not both_ends:
        return "unclear", explained
    return ("ends" if _two_ends(u, v, seen) else "tilt"), explained


def _two_ends(u: F64, v: F64, seen: F64) -> bool:
    """Whether two opposite rims are out of the band, not one alone."""
    rims = [(a < -RIM, a > RIM) for a in (u, v)]
    return any(all(side.any() and float(np.median(seen[side])) > 1.0 for side in pair) for pair in rims)


def _knee(blur: F64) -> F64:
    return np.asarray(np.sqrt(blur**2 + KNEE**2))


def _misfit(columns: F64, seen: F64) -> float:
    """Least mean square rest of a height, fitted to the blur from several starts."""
    target = _knee(seen)

    def rest(c: F64) -> F64:
        return np.asarray(np.minimum(_knee(columns @ c), 3.04) - target)

    size = float(seen.max())
    starts = [np.zeros(columns.shape[1])]
    for k in range(1, columns.shape[1]):
        for first in (0.0, size, -0.5 * size):
            start = np.zeros(columns.shape[1])
            start[0], start[k] = first, size if first <= 0 else -size
            starts.append(start)
    best = np.inf
    for start in starts:
        fit = optimize.least_squares(rest, start + 0.01, loss="soft_l1", f_scale=0.3, max_nfev=60)
        best = min(best, float(np.mean(rest(fit.x) ** 2)))
    return best


def _edge(u: F64, v: F64, seen: F64) -> float:
    """Mean square rest if one rim alone is soft and all else even; infinite where none is clearly softer."""
    target, best = _knee(seen), np.inf
    for rim in (u < -RIM, u > RIM, v < -RIM, v > RIM):
        if rim.sum() < 3 or (~rim).sum() < 3:
            continue
        inner, outer = float(np.median(seen[~rim])), float(np.median(seen[rim]))
        if outer > 1.0 and inner < 1.0 and outer > inner + 0.4:
            model = np.where(rim, _knee(np.array(outer)), _knee(np.array(inner)))
            best = min(best, float(np.mean((model - target) ** 2)))
    return best
