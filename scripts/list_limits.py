"""Write the table of limits into SECURITY.md between its markers; --check only says whether it is up to date."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from holders.core import limits, toml_text  # noqa: E402
from holders.face.page import bodies, patience, server  # noqa: E402
from holders.face.page.app import Limits  # noqa: E402
from holders.film import solved  # noqa: E402
from holders.measure import record_file as record  # noqa: E402
from holders.measure.scan import guard, model, plain, tiff  # noqa: E402
from holders.output.bundle import kept  # noqa: E402
from holders.preset import carried, code, load  # noqa: E402

BEGIN, END = "<!-- limits:begin -->", "<!-- limits:end -->"


def rows() -> list[tuple[str, str]]:
    """What is bounded and by how much, each number from where it is kept."""
    page, mib, kib = Limits(), 2**20, 2**10
    return [
        ("a preset file", f"{load.MAX_BYTES // kib} KiB"),
        (
            "a file that carries a preset (3MF, PDF, SVG, DXF, GLB, zip, picture of a code)",
            f"{carried.MAX_CARRIER_BYTES // mib} MiB",
        ),
        ("entries of a zip or 3MF", f"{carried.MAX_ENTRIES}"),
        ("a picture of a code", f"{code.MOST_PIXELS // 10**6} million pixels"),
        ("dots in a key of a preset or record", f"{toml_text.MOST_DOTS}"),
        ("brackets nested in it", f"{toml_text.MOST_DEPTH} deep"),
        ("characters of a bare key or a number", f"{toml_text.MOST_WORD}"),
        ("keys of a preset", f"{toml_text.MOST_KEYS}"),
        ("keys of a bed or film record", f"{record.MOST_KEYS}"),
        ("a bed or film record", f"{record.MAX_BYTES // mib} MiB"),
        ("a manifest that is read again", f"{kept.MOST_MANIFEST_BYTES // mib} MiB"),
        ("windows of one holder", f"{limits.MOST_WINDOWS}"),
        (
            "windows in all changes that are tried for next steps",
            f"{limits.MOST_WINDOWS_TRIED}, for a holder of more than {limits.MANY_WINDOWS}",
        ),
        ("pieces of one part", f"{limits.MOST_PIECES}"),
        (
            "seams of one part",
            f"{limits.MOST_SEAMS}, in {limits.MOST_ROWS} rows of {limits.MOST_ROWS} pieces",
        ),
        ("joints of one part, over all its seams", f"{limits.MOST_JOINTS}"),
        ("pieces laid out on sheets at a time", f"{limits.MOST_NESTED}"),
        (
            "films once solved, kept for later (the oldest go first)",
            f"{solved.MOST_BYTES // 10**6} MB, a little more between two looks",
        ),
        ("sides of a scan", f"{model.MAX_SIDE} pixels"),
        ("a tag of a TIFF that says how pixels lie", f"{guard.MAX_TAG_BYTES // mib} MiB"),
        ("one strip or tile of a TIFF, unpacked", f"{tiff.MAX_SEGMENT_BYTES // mib} MiB"),
        ("all strips of a compressed TIFF", "twice the file, so that none stands for many"),
        ("a PNG or JPEG, unpacked", f"{plain.MAX_BYTES // mib} MiB"),
        ("a scan sent to the page", f"{bodies.UPLOAD_BYTES // 2**30} GiB"),
        ("JSON sent to the page", f"{bodies.JSON_BYTES // kib} KiB"),
        ("connections to the page", f"{server.AT_ONCE}, {patience.MOST_IDLE} of them idle"),
        ("the head of a request to the page", f"{patience.HEAD_S:g} s"),
        ("an answer of the page", f"{page.answer_s:g} s by the clock"),
        ("files made on the page", f"{page.make_s:g} s by the clock"),
        ("a scan measured on the page", f"{page.job_s:g} s by the clock"),
        ("a command, or one order of a worker", f"{limits.ORDER_CPU_S} s of the processor (Linux, macOS)"),
        ("memory of a process", f"{limits.MEMORY_BYTES / 2**30:g} GiB (Linux)"),
    ]


def table() -> str:
    """The rows as markdown."""
    lines = ["| what | at most |", "|---|---|", *(f"| {what} | {most} |" for what, most in rows())]
    return "\n".join(lines)


def main() -> int:
    path = ROOT / "SECURITY.md"
    old = path.read_text(encoding="utf-8")
    before, rest = old.split(BEGIN)
    new = f"{before}{BEGIN}\n{table()}\n{END}{rest.split(END)[1]}"
    if "--check" in sys.argv[1:]:
        if new != old:
            print(
                "SECURITY.md: the table of limits is out of date; run scripts/list_limits.py", file=sys.stderr
            )
        return int(new != old)
    path.write_text(new, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
