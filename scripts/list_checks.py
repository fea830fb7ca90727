"""Write the list of checks into docs/checks.md between its markers; --check only says whether it is up to date."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BEGIN, END = "<!-- checks:begin -->", "<!-- checks:end -->"


def with_list(text: str, listed: str) -> str:
    """The text with what stands between the markers replaced; ``ValueError`` when a marker is missing."""
    if text.count(BEGIN) != 1 or text.count(END) != 1 or text.index(BEGIN) > text.index(END):
        raise ValueError(f"needs one {BEGIN} and, after it, one {END}, each on a line of its own")
    before, rest = text.split(BEGIN)
    return f"{before}{BEGIN}\n{listed}\n{END}{rest.split(END)[1]}"


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--check", action="store_true", help="write nothing; exit 1 when the list is out of date"
    )
    parser.add_argument(
        "--readme", type=Path, default=ROOT / "docs" / "checks.md", help="the file that holds the list"
    )
    chosen = parser.parse_args(arguments)
    sys.path.insert(0, str(ROOT))
    from holders.checks.catalogue import markdown  # noqa: PLC0415 - the path must be set first

    try:
        old = chosen.readme.read_text(encoding="utf-8")
        new = with_list(old, markdown())
    except (OSError, ValueError) as error:
        print(f"{chosen.readme}: {error}", file=sys.stderr)
        return 2
    if new == old:
        print(f"{chosen.readme}: the list of checks is up to date")
        return 0
    if chosen.check:
        print(
            f"{chosen.readme}: the list of checks is out of date; run scripts/list_checks.py", file=sys.stderr
        )
        return 1
    chosen.readme.write_text(new, encoding="utf-8")
    print(f"{chosen.readme}: list of checks written")
    return 0


if __name__ == "__main__":
    sys.exit(main())
