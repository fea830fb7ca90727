"""How well and how fast pieces are nested on five holders, against bounds that no nesting can beat.

Prints a table; the tests hold the same cases to no overlap. ``sheets``/``least`` by count; ``kept`` is the material in
pieces and ``hull`` all that their outer edges enclose, each as a share of the stock used (sheets less kept offcuts).
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from holders.geometry.outline import area
from holders.workshop.nest.cut_order import cut_order, usual_speeds
from holders.workshop.nest.nest import nest
from holders.workshop.nest.overlap import faults
from tests.workshop.nest_cases import cases


def main() -> None:
    """Nest every case once and print what came out."""
    head = f"{'case':66} {'pieces':>6} {'inside':>6} {'sheets':>6} {'least':>5} {'kept':>6} {'hull':>6}"
    print(head + f" {'m to cut':>8} {'min':>5} {'seconds':>8} {'faults':>6}")
    for name, parts, stock in cases():
        begin = time.perf_counter()
        found = nest(parts, stock)
        taken = time.perf_counter() - begin
        outer = [
            abs(area(p.outer))
            for p, s in zip(found.pieces, found.placements, strict=True)
            if s.inside is None
        ]
        cuts = cut_order(found, usual_speeds("laser", parts[0].thickness_mm))
        metres, minutes = sum(c.cut_mm for c in cuts) / 1000, sum(c.seconds for c in cuts) / 60
        inside = sum(s.inside is not None for s in found.placements)
        print(
            f"{name:66} {len(found.pieces):6} {inside:6} {len(found.sheets):6} {found.least_sheets:5} "
            f"{found.kept_mm2 / found.used_mm2:6.1%} {sum(outer) / found.used_mm2:6.1%} "
            f"{metres:8.1f} {minutes:5.1f} {taken:8.3f} {len(faults(found)):6}"
        )


if __name__ == "__main__":
    main()
