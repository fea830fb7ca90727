"""Random and mutated presets against everything that reads one: no traceback, no hang, bounded memory.

Four kinds of case: documents made from the preset's own schema, shipped presets with keys changed, shipped presets
with their text damaged, and plain noise. Each is read, looked up, designed and judged with its film lying flat; every
``--whole``-th also with its film surface, pictures and the content of its job sheet. A case ends well when a design
comes out or an error of ours names what is wrong in one line. Anything else is a fault: another exception, more than
10 s of the processor's time (or 2 minutes by the clock), a process above 1 GiB.

The case is made from ``--seed`` and its number alone, so that a fault is repeated with ``--first N --count 1``.

Run from the project root: ``python scripts/stress_presets.py --count 100000``
"""

from __future__ import annotations

import argparse
import copy
import json
import multiprocessing
import os
import random
import resource
import signal
import sys
import time
import tomllib
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from holders.checks.runner import run  # noqa: E402
from holders.core.errors import HoldersError, InputError  # noqa: E402
from holders.design.resolve import design  # noqa: E402
from holders.facts import tables  # noqa: E402
from holders.output.draw.film import film_sheet  # noqa: E402
from holders.output.draw.sheet import drawing  # noqa: E402
from holders.output.sheet.content import sheet_content  # noqa: E402
from holders.output.words.summary import summary  # noqa: E402
from holders.preset.load import located, parse  # noqa: E402
from holders.preset.resolve import resolve  # noqa: E402
from holders.study import study  # noqa: E402

SCHEMA = json.loads((ROOT / "presets" / "preset.schema.json").read_text(encoding="utf-8"))
SHIPPED = sorted((ROOT / "presets").glob("*.toml"))
FACTS = {
    "bed": ("beds", "name"),
    "film": ("formats", "format"),
    "base": ("bases", "name"),
    "material": ("materials", "name"),
    "printer": ("printers", "name"),
}
LIMIT_S = 10
CLOCK = 12  # times as long by the clock
LIMIT_KIB = 1 << 20
ODD: tuple[Any, ...] = (
    0, -1, 1, 1e-9, 1e9, 1e308, -0.0, 2**63, 10**40, float("nan"), float("inf"), True, "", "x", "\u202e[b]\x1b[31m",
    "a" * 5000, [], [1], {}, {"name": "petg"}, [[[[]]]], "../../etc", "ö" * 90,
)  # fmt: skip


class TooLong(BaseException):
    """Raised by the alarm; no ``except Exception`` may swallow it."""


@dataclass(frozen=True)
class Outcome:
    """How one case ended: ``kind`` is "made", "refused" or "fault"."""

    number: int
    kind: str
    seconds: float
    peak_kib: int
    words: str = ""
    whole: bool = False


# ---------------------------------------------------------------- cases


def case(seed: int, number: int) -> str:
    """The text of case ``number``."""
    rng = random.Random(f"{seed}/{number}")
    pick = rng.random()
    if pick < 0.45:
        return toml(document(rng))
    if pick < 0.84:
        return toml(mutated(rng, tomllib.loads(rng.choice(SHIPPED).read_text(encoding="utf-8"))))
    if pick < 0.97:
        return damaged(rng, rng.choice(SHIPPED).read_text(encoding="utf-8"))
    return "".join(
        chr(rng.choice((rng.randrange(128), rng.randrange(0xD800)))) for _ in range(rng.randrange(400))
    )


def document(rng: random.Random) -> dict[str, Any]:
    """A document that mostly obeys the schema; what it measures lies mostly near the rows of facts that it names."""
    made = table(rng, SCHEMA, chance=rng.choice((0.06, 0.15, 0.5)))
    made["holders_preset"] = 1
    shipped = tomllib.loads(rng.choice(SHIPPED).read_text(encoding="utf-8"))
    for key in sorted(FACTS.keys() & shipped.keys()):
        if rng.random() < 0.5:
            made[key] = merged(made.get(key), shipped[key])
    material = made.get("material")
    named = material.get("name") if isinstance(material, dict) else None
    routes = [row.routes for row in tables.table("materials") if row.key == named]  # type: ignore[attr-defined]
    if routes and rng.random() < 0.9:
        made["route"] = rng.choice(routes[0])
    return made


def choice(rng: random.Random, name: str, made: dict[str, Any]) -> dict[str, Any]:
    """A table that names a row of facts: mostly one that exists, its measured values mostly near the row's."""
    if name not in FACTS or rng.random() < 0.05:
        return made
    kind, key = FACTS[name]
    row = dict(rng.choice(tables.table(kind)))
    for field, known in row.items():
        number = isinstance(known, int | float) and not isinstance(known, bool)
        if field in made and number and rng.random() < 0.95:
            made[field] = type(known)(known * rng.uniform(0.93, 1.07))
    return {**made, key: row["key"]}


def table(rng: random.Random, node: dict[str, Any], chance: float) -> dict[str, Any]:
    """Random values for a table's keys; those it asks for are always there."""
    needed = node.get("required", ())
    made = {}
    for key, inner in node.get("properties", {}).items():
        if key in needed or rng.random() < chance:
            made[key] = value(rng, inner, chance)
            if isinstance(made[key], dict):
                made[key] = choice(rng, key, made[key])
    return made


def merged(old: Any, new: Any) -> Any:
    """Two tables as one; of anything else, the new."""
    return {**old, **new} if isinstance(old, dict) and isinstance(new, dict) else new


def value(rng: random.Random, node: dict[str, Any], chance: float) -> Any:
    """A random value for a schema's node, within its bounds nearly always."""
    if rng.random() < 0.004:
        return copy.deepcopy(rng.choice(ODD))
    if "$ref" in node:
        return value(rng, SCHEMA["$defs"][node["$ref"].rsplit("/", 1)[-1]], chance)
    if "anyOf" in node:
        return value(rng, rng.choice([one for one in node["anyOf"] if one.get("type") != "null"]), chance)
    if "enum" in node or "const" in node:
        return rng.choice(node.get("enum") or [node["const"]])
    kinds: dict[str, Callable[[], Any]] = {
        "object": lambda: table(rng, node, chance),
        "array": lambda: [value(rng, node.get("items", {}), chance) for _ in range(rng.randrange(4))],
        "string": lambda: str(node.get("default") or rng.choice(("weir", "8x10", "petg", "a4-wide"))),
        "boolean": lambda: rng.random() < 0.5,
        "integer": lambda: number_in(rng, node, whole=True),
        "number": lambda: number_in(rng, node, whole=False),
    }
    return kinds[node.get("type", "number")]()


def number_in(rng: random.Random, node: dict[str, Any], whole: bool) -> float | int:
    """Near the default, on a bound, or anywhere between the bounds on a logarithmic scale."""
    low = float(node.get("minimum", node.get("exclusiveMinimum", 0)))
    high = float(node.get("maximum", node.get("exclusiveMaximum", 1000)))
    default = node.get("default")
    pick = rng.random()
    if pick < 0.5 and isinstance(default, int | float):
        found = float(default) * rng.uniform(0.6, 1.7)
    elif pick < 0.6:
        found = rng.choice((low, high))
    elif pick < 0.8:
        found = low + (high - low) * rng.random() ** 3
    else:
        found = rng.choice((0.2, 1.0, 3.0, 30.0, 200.0)) * rng.uniform(0.5, 1.5)
    found = min(max(found, low), high)
    found = round(found) if whole else round(found, rng.choice((1, 3, 9)))
    outside = found in (node.get("exclusiveMinimum"), node.get("exclusiveMaximum"))
    return (low + high) / 2 if outside and rng.random() < 0.9 else found


def mutated(rng: random.Random, data: dict[str, Any]) -> dict[str, Any]:
    """One to five keys changed, added, taken away or made odd."""
    for _ in range(rng.randint(1, 5)):
        places = [data, *(inner for inner in data.values() if isinstance(inner, dict))]
        where = rng.choice(places)
        what = rng.random()
        if what < 0.5:
            fresh = table(rng, SCHEMA, 0.5)
            key = rng.choice(list(fresh))
            data[key] = merged(data.get(key), fresh[key])
        elif what < 0.7 and where:
            where.pop(rng.choice(list(where)))
        elif what < 0.9 and where:
            where[rng.choice(list(where))] = copy.deepcopy(rng.choice(ODD))
        else:
            where[rng.choice(("lp", "widht_mm", "", "__class__", "name"))] = copy.deepcopy(rng.choice(ODD))
    return data


def damaged(rng: random.Random, text: str) -> str:
    """The text with characters, lines or its end lost, doubled or swapped."""
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(text) + 1)
        what = rng.randrange(6)
        lines = text.splitlines(keepends=True) or [""]
        line = rng.randrange(len(lines))
        if what == 0:
            text = text[:at]
        elif what == 1:
            text = (
                text[:at]
                + chr(rng.choice((0, 9, 10, 34, 39, 61, 91, 93, 0x2028, 0xFEFF, 0xDFFF)))
                + text[at:]
            )
        elif what == 2:
            text = "".join(lines[:line] + lines[line + 1 :])
        elif what == 3:
            text = "".join([*lines, lines[line]])
        elif what == 4:
            text = (
                text[:at]
                + rng.choice(("9" * 400, "[" * 3000, "1e400", "= =", '"""', "\\u0000", "-"))
                + text[at + 1 :]
            )
        else:
            text = text[: at // 2] + text[at:]
    return text


def toml(data: dict[str, Any], path: tuple[str, ...] = ()) -> str:
    """The data as TOML; written here, as the cases need values that a careful writer would refuse."""
    plain = [f"{json.dumps(k)} = {_toml(v)}\n" for k, v in data.items() if not isinstance(v, dict)]
    inner = []
    for key, v in data.items():
        if isinstance(v, dict):
            here = (*path, key)
            inner.append(f"\n[{'.'.join(json.dumps(k) for k in here)}]\n{toml(v, here)}")
    return "".join(plain + inner)


def _toml(v: Any) -> str:
    if isinstance(v, bool):
        return "true" if v else "false"
    if isinstance(v, float):
        return repr(v)
    if isinstance(v, list):
        return "[" + ", ".join(_toml(one) for one in v) + "]"
    if isinstance(v, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {_toml(one)}" for k, one in v.items()) + "}"
    return json.dumps(v)


# ---------------------------------------------------------------- one case


def attempt(text: str, whole: bool, *, checked: bool = True) -> str:
    """Made or refused, the latter with words in one line; anything else is raised.

    Not ``whole``, the film is flat; not ``checked``, the design alone is made.
    """
    try:
        preset = parse(text, "case.toml")
        try:
            if whole:
                _everything(preset, text)
            else:
                job = resolve(preset)
                made = design(job)
                if checked:
                    run(job, made)
        except InputError as error:
            raise located(error, text, "case.toml") from None
    except HoldersError as error:
        one_line(error)
        return "refused"
    return "made"


def one_line(error: HoldersError) -> None:
    """Raise ``AssertionError`` for a refusal that is not one clear line, fit for a terminal."""
    words = str(error)
    if not words or len(words) > 2000 or not words.isprintable():
        raise AssertionError(f"not one clear line: {words[:300]!r}") from error


def _everything(preset: Any, text: str) -> None:
    shown(study(preset, text), text)


def shown(found: Any, text: str) -> None:
    """All that is drawn and written of a study without the CAD kernel."""
    json.dumps(summary(found, "case.toml"), allow_nan=False)
    drawing(found.design)
    if found.film.grid is not None:
        film_sheet(found.design, found.film)
    sheet_content(found, text)


def judged(seed: int, number: int, whole: bool) -> Outcome:
    """Run a case under its limits."""

    def ring(*_: object) -> None:
        raise TooLong

    alarms = {
        signal.SIGPROF: (signal.ITIMER_PROF, LIMIT_S),
        signal.SIGALRM: (signal.ITIMER_REAL, CLOCK * LIMIT_S),
    }
    before = {number: signal.signal(number, ring) for number in alarms}
    text = case(seed, number).encode(errors="replace").decode()
    for timer, limit in alarms.values():
        signal.setitimer(timer, limit)
    start = time.process_time()
    kind, words = "fault", ""
    high = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss  # of all that this process did before
    try:
        kind = attempt(text, whole)
    except TooLong:
        words = f"longer than {LIMIT_S} s\n{traceback.format_exc(limit=-6)}"
    except Exception:
        words = traceback.format_exc(limit=-6)
    finally:
        for signum, (timer, _) in alarms.items():
            signal.setitimer(timer, 0)
            signal.signal(signum, before[signum])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    if peak > max(LIMIT_KIB, high) and kind != "fault":
        kind, words = "fault", f"peak of the process {peak / 1024:.0f} MiB"
    return Outcome(number, kind, time.process_time() - start, peak, words, whole)


def _one(job: tuple[int, int, bool]) -> Outcome:
    return judged(*job)


def outcomes(seed: int, first: int, count: int, whole: int, jobs: int) -> Iterator[Outcome]:
    """All cases, over ``jobs`` processes."""
    orders = ((seed, n, bool(whole) and n % whole == 0) for n in range(first, first + count))
    if jobs == 1:
        yield from map(_one, orders)
        return
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        yield from pool.imap_unordered(_one, orders, chunksize=20)


def main() -> int:
    """Run, print what came of it, keep the faults in ``build/stress``; 1 when there are any."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--count", type=int, default=100_000)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument(
        "--whole", type=int, default=50, help="every how many cases also film, pictures, job sheet"
    )
    ask.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    given = ask.parse_args()
    kept = ROOT / "build" / "stress"
    kept.mkdir(parents=True, exist_ok=True)
    kinds: Counter[str] = Counter()
    slow, peak, start = Outcome(-1, "", 0.0, 0), 0, time.perf_counter()
    for done, one in enumerate(outcomes(given.seed, given.first, given.count, given.whole, given.jobs), 1):
        kinds[one.kind + (" (whole)" if one.whole else "")] += 1
        slow, peak = max(slow, one, key=lambda o: o.seconds), max(peak, one.peak_kib)
        if one.kind == "fault":
            print(f"case {one.number}: {one.words}", flush=True)
            (kept / f"preset-{given.seed}-{one.number}.toml").write_text(
                case(given.seed, one.number), encoding="utf-8", errors="surrogatepass"
            )
        if done % 5000 == 0:
            print(f"{done} of {given.count}: {dict(kinds)}", file=sys.stderr, flush=True)
    print(f"{given.count} presets in {time.perf_counter() - start:.0f} s: {dict(sorted(kinds.items()))}")
    print(
        f"slowest: case {slow.number}, {slow.seconds:.2f} s; most memory of a process: {peak / 1024:.0f} MiB"
    )
    return 1 if any(kind.startswith("fault") for kind in kinds) else 0


if __name__ == "__main__":
    sys.exit(main())
