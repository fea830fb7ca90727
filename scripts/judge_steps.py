"""Judge the next steps on random presets: each, applied and judged on its own, gives the chance that it promised.

    python -m scripts.judge_steps [--first 0] [--count 300] [--kept FILE]

Preset number N is always the same (tests/simulators/users.py). Prints a line a preset, what was off by more than 0.02,
and the counts that docs/reliability.md keeps. With --kept the lines go to a file, and presets that stand in it are not
judged again. The worst film of its kind, on which neither chance nor stop hangs, is left out.
"""

from __future__ import annotations

import argparse
import json
import time
from dataclasses import asdict, dataclass, field
from pathlib import Path

from holders.core.threads import one_thread

one_thread()

from holders.core.errors import HoldersError  # noqa: E402
from holders.preset.load import parse  # noqa: E402
from holders.search.tried import with_steps  # noqa: E402
from holders.study import study  # noqa: E402
from tests.simulators.users import random_preset  # noqa: E402

ALLOWED = 0.02


@dataclass
class Line:
    """What came of one preset: how many steps, how many of them a smaller frame, the largest difference, in words
    those off by too much; None of them where it cannot be made.
    """

    number: int
    steps: int | None = None
    frames: int = 0
    worst: float = 0.0
    broken: list[str] = field(default_factory=list)


def judged(number: int) -> Line:
    """Steps of one preset, each done."""
    text = random_preset(number)
    try:
        found = with_steps(study(parse(text, "preset"), text, extremes=False))
    except HoldersError:
        return Line(number)
    line = Line(number, len(found.verdict.next))
    for step in found.verdict.next:
        again = study(parse(step.preset, "step"), step.preset, extremes=False)
        off = again.verdict.chance - step.chance
        line.worst = max(line.worst, abs(off))
        more = {f.code for f in again.stops} - {f.code for f in found.stops}
        frame = "layout.outer_width_mm" in step.keys
        line.frames += frame
        less = frame and again.verdict.chance < found.verdict.chance
        if abs(off) > ALLOWED or more or less:
            line.broken.append(
                f"{step.text}: promised {step.chance:.3f}, gave {again.verdict.chance:.3f} {more or ''}"
            )
    return line


def kept(file: Path | None) -> dict[int, Line]:
    """The presets whose lines stand in a file."""
    if file is None or not file.exists():
        return {}
    lines = [Line(**json.loads(text)) for text in file.read_text().splitlines()]
    return {line.number: line for line in lines}


def main() -> None:
    """Try and print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--count", type=int, default=300)
    options.add_argument("--kept", type=Path, help="file of the lines, to go on from")
    given = options.parse_args()
    before, known, lines = time.process_time(), kept(given.kept), []
    for number in range(given.first, given.first + given.count):
        line = known[number] if number in known else judged(number)
        lines.append(line)
        if number in known:
            continue
        print(json.dumps(asdict(line)), flush=True)
        if given.kept is not None:
            with given.kept.open("a") as file:
                file.write(f"{json.dumps(asdict(line))}\n")
    made = [line for line in lines if line.steps is not None]
    steps, frames = sum(line.steps or 0 for line in made), sum(line.frames for line in made)
    print(
        f"{given.count} presets ({len(lines) - len(made)} cannot be made, {sum(not line.steps for line in made)} "
        f"without a step): {steps} steps, {frames} of them a smaller frame, "
        f"{sum(len(line.broken) for line in made)} off by more than {ALLOWED}, the largest difference "
        f"{max((line.worst for line in made), default=0.0):.4f}; {time.process_time() - before:.0f} s of the CPU"
    )


if __name__ == "__main__":
    main()
