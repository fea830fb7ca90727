"""Judge the next steps on random presets: each, applied and judged on its own, gives the chance that it promised.

    python -m scripts.judge_steps [--first 0] [--count 300]

Preset number N is always the same (tests/simulators/users.py). Prints a line a preset, what was off by more than 0.02,
and the counts that docs/reliability.md keeps.
"""

from __future__ import annotations

import argparse
import time

from holders.core.threads import one_thread

one_thread()

from holders.core.errors import HoldersError  # noqa: E402
from holders.preset.load import parse  # noqa: E402
from holders.search.tried import with_steps  # noqa: E402
from holders.study import study  # noqa: E402
from tests.simulators.users import random_preset  # noqa: E402

ALLOWED = 0.02


def broken_promises(number: int) -> tuple[int, float, list[str]]:
    """Steps named for one preset, the largest difference, and in words those that are off by too much.

    Raises HoldersError for a preset that cannot be made.
    """
    text = random_preset(number)
    found = with_steps(study(parse(text, "preset"), text))
    worst, broken = 0.0, []
    for step in found.verdict.next:
        again = study(parse(step.preset, "step"), step.preset)
        off = again.verdict.chance - step.chance
        worst = max(worst, abs(off))
        more = {f.code for f in again.stops} - {f.code for f in found.stops}
        if abs(off) > ALLOWED or more:
            broken.append(
                f"{number}: {step.text}: promised {step.chance:.3f}, gave {again.verdict.chance:.3f} {more or ''}"
            )
    return len(found.verdict.next), worst, broken


def main() -> None:
    """Try and print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--count", type=int, default=300)
    given = options.parse_args()
    before, refused, steps, none, worst, broken = time.process_time(), 0, 0, 0, 0.0, []
    for number in range(given.first, given.first + given.count):
        try:
            count, off, words = broken_promises(number)
        except HoldersError:
            refused += 1
            continue
        steps, none, worst = steps + count, none + (count == 0), max(worst, off)
        broken += words
        print(f"{number}: {count} steps, off by {off:.4f} at most", *words, sep="\n  ", flush=True)
    print(
        f"{given.count} presets ({refused} cannot be made, {none} without a step): {steps} steps, {len(broken)} off "
        f"by more than {ALLOWED}, the largest difference {worst:.4f}; {time.process_time() - before:.0f} s of the CPU"
    )


if __name__ == "__main__":
    main()
