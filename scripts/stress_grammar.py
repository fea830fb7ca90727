"""Attacks on the grammar of TOML: nesting, dots, quotes, escapes and lengths in every combination, as presets.

Each text is read as a preset. It ends well when a preset comes out or one line of ours says what is wrong, within 2 s
of the processor; that line holds no control character. The case is made from ``--seed`` and its number alone.

Run from the project root: ``python scripts/stress_grammar.py --count 100000``
"""

from __future__ import annotations

import argparse
import random
import resource
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from holders.core.errors import InputError  # noqa: E402
from holders.preset.load import MAX_BYTES, parse  # noqa: E402

LIMIT_S = 2.0
WORDS = (
    "a",
    "title",
    "film",
    "format",
    '"a b"',
    "'x'",
    '""',
    "-",
    "_1",
    "ü",
    "1",
    "inf",
    "true",
    "2026-11-25",
    "0x_",
)
ESCAPES = (
    r"\u001b",
    r"\u202e",
    r"\ud800",
    r"\U0010ffff",
    r"\U00110000",
    r"\n",
    r"\q",
    "\\",
    r"\uFFFE",
    r"\u0085",
)
OPEN = ("[", "[[", "{", "{a=", "[{a=", '"""', "'''", '"', "'", "#", "(", "\n[", "\n[[")
CLOSE = ("]", "]]", "}", "},", '"""', "'''", '"', "'", "\n", ",", "=", ".", " ", "\t", "\r\n", "\r", "\0")
BASE = 'holders_preset = 1\ntitle = "x"\nroute = "print"\nbed = {name = "a4-wide"}\n'
END = 'film = {format = "4x5"}\nmaterial = {name = "petg"}\n'


def text(seed: int, number: int) -> str:
    """Case ``number``: a run of one unit, long or short, between pieces of every kind, in or around a good preset."""
    rng = random.Random(f"{seed}/{number}")
    pieces = [_piece(rng) for _ in range(rng.choice((1, 2, 5, 20)))]
    unit = "".join(rng.choice((*WORDS, *OPEN, *CLOSE, *ESCAPES)) for _ in range(rng.choice((1, 1, 2, 3))))
    times = rng.choice((1, 10, 200, MAX_BYTES // max(1, len(unit.encode()))))
    pieces.insert(rng.randrange(len(pieces) + 1), unit * times + rng.choice(("", "=1", " = 'x'", "]")))
    made = "".join(pieces)
    return rng.choice((made, BASE + made + "\n" + END, BASE + END + made))[:MAX_BYTES]


def _piece(rng: random.Random) -> str:
    word = rng.choice(WORDS)
    kind = rng.randrange(6)
    if kind == 0:
        return f"{word} = {rng.choice(WORDS)}\n"
    if kind == 1:
        return f'{word} = "{rng.choice(ESCAPES)}{word}"\n'
    if kind == 2:
        return f"[{'.'.join(rng.choice(WORDS) for _ in range(rng.randrange(1, 12)))}]\n"
    if kind == 3:
        return rng.choice(OPEN) + word + rng.choice(CLOSE)
    if kind == 4:
        return f"{word} = {'[' * rng.randrange(12)}{word}{']' * rng.randrange(12)}\n"
    return f"{'.'.join([word] * rng.randrange(1, 12))} = {{{word} = {rng.choice(WORDS)}}}\n"


def fault(made: str) -> str:
    """What is wrong with how a text is met; "" where nothing is."""
    start = time.process_time()
    try:
        parse(made, "p.toml")
    except InputError as error:
        if not error.message.isprintable():
            return "a control character in the message"
    except Exception as error:
        return f"{type(error).__name__}: {error}"[:200]
    spent = time.process_time() - start
    return f"{spent:.1f} s of the processor" if spent > LIMIT_S else ""


def run(count: int, seed: int, first: int = 0) -> list[tuple[int, str]]:
    """The faults among ``count`` cases, with their numbers."""
    met = ((number, fault(text(seed, number))) for number in range(first, first + count))
    return [(number, words) for number, words in met if words]


def main() -> int:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--count", type=int, default=100_000)
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--first", type=int, default=0)
    asked = given.parse_args()
    faults = run(asked.count, asked.seed, asked.first)
    for number, words in faults:
        print(f"case {number}: {words}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(
        f"{asked.count} texts, {len(faults)} faults, {time.process_time():.0f} s, largest process {peak} MiB"
    )
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main())
