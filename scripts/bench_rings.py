"""How many composites with rings are found and how many without raise a false alarm, with 95 % intervals.

Run from the root:
``python scripts/bench_rings.py [--count 150] [--first 675] [--set held-out|tuning] [--pool judged|whole|textures]
[--grey] [--contrast 0.02]``.
``--count`` composites with rings and as many without; the aim is 95 % found and at most 2 % false alarms at 2 %
contrast of the light. The protocol stands in ``tests/measure/finished/tally.py``; scores of the tuning sets are shown
one by one with ``--each``, those of the held-out set never.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.measure.finished.tally import Tally, tally


def by_kind(whole: Tally, held_out: bool) -> dict[str, Tally]:
    """Made pictures and photographs apart; in the tuning set each picture by its name."""
    parts: dict[str, Tally] = defaultdict(Tally)
    for n, name in whole.names.items():
        kind = ("photographs" if ":" in name else "made pictures") if held_out else name
        parts[kind].with_rings[n], parts[kind].without[n] = whole.with_rings[n], whole.without[n]
    return parts


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    ask.add_argument("--count", type=int, default=150)
    ask.add_argument("--first", type=int, default=675)
    ask.add_argument("--set", choices=["held-out", "tuning"], default="held-out")
    ask.add_argument("--pool", choices=["judged", "whole", "textures"], default="judged")
    ask.add_argument("--contrast", type=float, default=0.02)
    ask.add_argument("--side", type=int, default=480)
    ask.add_argument(
        "--recorded", action="store_true", help="contrast of the file's values, not of the light"
    )
    ask.add_argument("--grey", action="store_true")
    ask.add_argument("--each", action="store_true")
    a = ask.parse_args()
    held_out, begin = a.set == "held-out", time.perf_counter()
    whole = tally(
        range(a.first, a.first + a.count), held_out=held_out, colour=not a.grey, side=a.side, contrast=a.contrast,
        recorded=a.recorded, pool=a.pool,
    )  # fmt: skip
    of = "the file's values" if a.recorded else "the light"
    kind = "grey" if a.grey else "colour"
    print(f"{a.set} set, {a.pool} pool, {kind}, {a.side} px, {a.contrast:.1%} contrast of {of}")
    for kind, part in sorted(by_kind(whole, held_out).items()):
        print(f"  {kind:32s} {part.row()}")
        if a.each and not held_out:
            for n in part.with_rings:
                print(f"      {n:5d} with {part.with_rings[n]:7.2f} without {part.without[n]:7.2f}")
    print(f"  {'all':32s} {whole.row()}")
    print(f"  {(time.perf_counter() - begin) / (2 * a.count):.2f} s a composite")


if __name__ == "__main__":
    main()
