"""Judge `holders ways` against brute force: every combination of its space designed, checked and judged in full.

    python -m scripts.judge_ways [--first 0] [--count 12]

Random presets (tests/simulators/users.py). Prints a line a preset: how many combinations, the best chance that the
search found and the best of the sweep, of those that no check stops. The worst film of its kind, on which neither
chance nor stop hangs, is left out.
"""

from __future__ import annotations

import argparse
import itertools
import time

from holders.core.threads import one_thread

one_thread()

from holders.core.errors import HoldersError  # noqa: E402
from holders.preset.edited import with_values  # noqa: E402
from holders.preset.load import parse  # noqa: E402
from holders.search.ways import ALIKE, choices, search, together  # noqa: E402
from holders.study import Study, study  # noqa: E402
from tests.simulators.users import FORMATS, random_preset  # noqa: E402


def swept(found: Study) -> tuple[int, float]:
    """How many combinations there are, and the best chance of those that no check stops."""
    best, every = 0.0, list(itertools.product(*choices(found)))
    for combination in every:
        text = with_values(found.preset_text, together(combination))
        try:
            one = study(parse(text, "sweep"), text, extremes=False)
        except HoldersError:
            continue
        if one.ok:
            best = max(best, one.verdict.chance)
    return len(every), best


def main() -> None:
    """Search, sweep and print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--count", type=int, default=12, help="presets that can be made")
    options.add_argument("--formats", nargs="*", default=FORMATS)
    given = options.parse_args()
    done, missed, number, before = 0, 0, given.first, time.process_time()
    while done < given.count:
        text = random_preset(number, tuple(given.formats))
        number += 1
        try:
            found = study(parse(text, "preset"), text)
        except HoldersError:
            continue
        done += 1
        result = search(found)
        count, best = swept(found)
        mine = result.ways[0].chance if result.ways else 0.0
        missed += mine < best - ALIKE
        print(
            f"{number - 1}: {count} combinations, {result.tried} tried; found {mine:.4f}, sweep {best:.4f}",
            flush=True,
        )
    print(
        f"{done} presets, {missed} with a better one missed; {time.process_time() - before:.0f} s of the processor"
    )


if __name__ == "__main__":
    main()
