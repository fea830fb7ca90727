"""Defaults over every format, route and bed, plain and with feet, lid or both: what stops, what warns, how likely.

    python scripts/sweep.py --every 10              a tenth of them, evenly spread
    python scripts/sweep.py --every 10 --measured   the same with a measured bed and a measured film
    python scripts/sweep.py --every 10 --ways 40    and the best ways of the forty worst

Prints the tables that docs/reliability.md keeps; with ``--cases`` every holder besides, one a line.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from holders.core.errors import HoldersError, InputError
from holders.core.threads import one_thread

one_thread()

from holders.face.shared.starts import STARTS, USUAL, fitting_printer  # noqa: E402
from holders.facts.tables import keys, table  # noqa: E402
from holders.preset.load import parse  # noqa: E402
from holders.preset.template import template  # noqa: E402
from holders.search.candidates import BED_SIGMA_MM, CURL_SIGMA_PER_M  # noqa: E402
from holders.search.propose import proposed  # noqa: E402
from holders.search.ways import search  # noqa: E402
from holders.study import Study, study  # noqa: E402

HOLDS: dict[str, tuple[str, ...]] = {
    "plain": (),
    "feet": ("feet",),
    "lid": ("lid",),
    "both": ("feet", "lid"),
}
ROUTES = ("print", "laser", "knife")
BASES: dict[str, Any] = {row.key: row for row in table("bases")}  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Case:
    """One holder as `holders new` writes it, and what came of it; ``chance`` is None where it was refused."""

    name: str
    values: dict[str, Any]
    chance: float | None = None
    stops: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    refused: str = ""
    found: Study | None = field(default=None, compare=False)


def every_case(measured: bool) -> Iterator[Case]:
    """All combinations; a lid on a mount is none, as `holders new` offers it none."""
    formats: list[Any] = list(table("formats"))
    for row, route, bed, hold in itertools.product(formats, ROUTES, keys("beds"), HOLDS):
        if row.kind == "mount" and "lid" in HOLDS[hold]:
            continue
        yield Case(f"{row.key} {route} {bed} {hold}", values_of(row, route, bed, hold, measured))


def values_of(row: Any, route: str, bed: str, hold: str, measured: bool) -> dict[str, Any]:
    """The tables and keys of one combination, as `holders new` starts with them."""
    values: dict[str, Any] = {
        "title": "sweep",
        "route": route,
        "bed": {"name": bed},
        "film": {"format": row.key, "emulsion": "down"},
        "material": {"name": USUAL[route]},
        "layout": {"count": 1},
    }
    if route == "print":
        values["printer"] = {"name": fitting_printer(bed)}
    for part in HOLDS[hold]:
        values[part] = dict(STARTS[part].get(route, STARTS[part][""]))
    if measured:
        values["bed"]["focus_sigma_mm"] = BED_SIGMA_MM
        base = BASES[row.base]
        curl = base.curl_per_m
        if base.curl_high_per_m > base.curl_low_per_m:
            values["base"] = {
                "curl_per_m": curl,
                "curl_low_per_m": round(curl - 2 * CURL_SIGMA_PER_M, 4),
                "curl_high_per_m": round(curl + 2 * CURL_SIGMA_PER_M, 4),
            }
    return values


def judged(case: Case, plain: bool) -> Case:
    """The case designed and checked; as `holders new` proposes it unless ``plain``."""
    values = case.values if plain else proposed(case.values, template)[0]
    text = template(values)
    try:
        found = study(parse(text, "sweep"), text, extremes=False)
    except InputError as error:
        return Case(case.name, values, refused=str(error))
    levels = {level: tuple(f.code for f in found.findings if f.level == level) for level in ("stop", "warn")}
    return Case(case.name, values, found.verdict.chance, levels["stop"], levels["warn"], found=found)


def line_of(case: Case) -> str:
    """One holder on one line."""
    chance = "refused" if case.chance is None else f"{case.chance:.2f}"
    return f"{case.name}: {chance} stop {' '.join(case.stops)} warn {' '.join(case.warnings)} {case.refused}"


def rows_of(cases: Sequence[Case]) -> list[str]:
    """The table, a row a route and kind of holder."""
    lines = [
        "| route | holder | holders | refused | stop | warn | free | chance: worst, median |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for route, hold in itertools.product(ROUTES, HOLDS):
        mine = [c for c in cases if c.name.split()[1] == route and c.name.split()[3] == hold]
        made = [c for c in mine if c.chance is not None]
        if not mine:
            continue
        chances = sorted(c.chance for c in made if c.chance is not None)
        words = f"{chances[0]:.2f}, {chances[len(chances) // 2]:.2f}" if chances else ""
        free = sum(not c.stops and not c.warnings for c in made)
        counts = (len(mine), len(mine) - len(made), sum(bool(c.stops) for c in made),
                  sum(not c.stops and bool(c.warnings) for c in made), free)  # fmt: skip
        lines.append(f"| {route} | {hold} | {' | '.join(str(n) for n in counts)} | {words} |")
    return lines


def causes(cases: Sequence[Case]) -> list[str]:
    """What stops and warns, how often."""
    stops = Counter(code for c in cases for code in set(c.stops))
    warnings = Counter(code for c in cases for code in set(c.warnings))
    refused = Counter(c.refused.split(":")[0] for c in cases if c.refused)
    return [f"{name}: " + (", ".join(f"{code} {n}" for code, n in found.most_common()) or "none")
            for name, found in (("stops", stops), ("warnings", warnings), ("refused", refused))]  # fmt: skip


def best_ways(cases: Sequence[Case], most: int) -> list[str]:
    """Of the worst holders that could be designed: the chance now and of the best way."""
    made = [c for c in cases if c.found is not None]
    worst = sorted(made, key=lambda c: (not c.stops, c.chance))[:most]
    lines = ["| holder | now | stops | tried | best way | then |", "|---|---|---|---|---|---|"]
    for case in worst:
        assert case.found is not None
        try:
            result = search(case.found)
        except HoldersError as error:
            lines.append(f"| {case.name} | {case.chance:.2f} | {' '.join(case.stops)} | | {error} | |")
            continue
        best = result.ways[0] if result.ways else None
        words = "none can be made | " if best is None else f"{best.text} | {best.chance:.2f}"
        lines.append(
            f"| {case.name} | {case.chance:.2f} | {' '.join(case.stops)} | {result.tried} | {words} |"
        )
    return lines


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--every", type=int, default=1, help="take one in so many")
    options.add_argument("--first", type=int, default=0, help="begin with this one")
    options.add_argument("--measured", action="store_true", help="bed and film are measured")
    options.add_argument("--plain", action="store_true", help="as `holders new --plain` writes them")
    options.add_argument("--ways", type=int, default=0, help="look for the best ways of so many of the worst")
    options.add_argument("--cases", action="store_true", help="print every holder")
    given = options.parse_args()
    before = time.process_time()
    cases = []
    for case in itertools.islice(every_case(given.measured), given.first, None, given.every):
        cases.append(judged(case, given.plain))
        if given.cases:
            print(line_of(cases[-1]), flush=True)
    print(*rows_of(cases), "", *causes(cases), sep="\n")
    print(f"{len(cases)} holders, {time.process_time() - before:.0f} s of the processor", flush=True)
    if given.ways:
        print("", *best_ways(cases, given.ways), sep="\n")


if __name__ == "__main__":
    main()
