"""Draw the gallery: every shipped preset as two sheets (parts; plan and section) and its film, with its numbers.

Writes ``docs/gallery.md``, ``docs/gallery/*.svg``, the words of some job sheets (``docs/gallery/*.txt``) and the strip
of six in the README. ``tests/output/report/test_gallery.py`` holds all of it against what is made today, but for film
pictures, which hold solved numbers: only their presence is looked for. ``--check`` names what is out of date.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from holders.core.findings import number_words
from holders.face.page.work.routes import effort_words
from holders.facts.height_names import FEET, LEDGE
from holders.output.draw.film import film_sheet
from holders.output.draw.sheet import drawing
from holders.output.sheet.blocks import Block, Boxes, Drawing, Items, Table, Verbatim, Words
from holders.output.sheet.content import sheet_content
from holders.output.words.summary import design_summary
from holders.study import Study, study_file

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "gallery.md"
PICTURES = ROOT / "docs" / "gallery"
README = ROOT / "README.md"
BEGIN, END = "<!-- six of the gallery, by scripts/gallery.py -->", "<!-- end of the six -->"
STRIP = ("8x10-printed", "8x10-acrylic-lid", "8x10-mat-board", "4x5-four-up", "6x9-roll", "mixed-formats")
# one of each way of making and of most kinds, the quickest first: their job sheets are kept in words
IN_WORDS = (
    "8x10-mat-board", "6x9-roll", "50mm-mounts", "8x10-printed", "5x7-glass-cover", "4x5-insert", "8x10-small-printer",
    "mixed-formats", "35mm-channel", "8x10-one-board", "5x7-two-pass", "8x10-wet-mount", "35mm-roll",
    "6x17-light-frame",
)  # fmt: skip
WAYS = {"print": "printed", "laser": "laser", "knife": "knife"}
HEAD = """# Gallery

The presets that come along, as made by the *Low Weir Archive*: two volunteers who digitise the negatives of a closed
paper mill. Each is one file in [`presets/`](../presets); `make gallery` draws this page.

"""


def entry(path: Path, found: Study) -> str:
    """One preset's part of the page."""
    design, job = found.design, found.job
    heights, window = design.heights, design.windows[0]
    sag = design.sag
    lines = [
        f"## {design.title}",
        "",
        job.preset.note,
        "",
        f"![{design.title}: parts and their list](gallery/{path.stem}-sheet.svg)",
        "",
        f"![{design.title}: plan, section, notes](gallery/{path.stem}-plan.svg)",
        "",
        f"![{design.title}: how the film lies](gallery/{path.stem}-film.svg)",
        "",
        "| | |",
        "|---|---|",
        f"| preset | [`presets/{path.name}`](../presets/{path.name}) |",
        f"| made by | {design.route}, {job.material.name} |",
        f"| takes | {effort_words(job, design, found.nested)} |",
        f"| outside | {design.outer.width:.1f} x {design.outer.height:.1f} mm, {design.total_height:.1f} mm high |",
        f"| windows | {len(design.windows)} of {window.opening.width:.1f} x {window.opening.height:.1f} mm |",
        f"| {LEDGE} | {heights.ledge_as_made:.2f} mm; {FEET} {heights.foot_protrusion:.2f} mm |",
    ]
    if sag is not None:
        lines.append(
            f"| in focus | {100 * sag.in_band_fraction:.0f} % of the picture "
            f"({100 * (sag.focus_fraction or 0):.0f} % with the ledge at the focus height) |"
        )
    if path.stem in IN_WORDS:
        lines.append(f"| job sheet | [in words](gallery/{path.stem}.txt) |")
    warned = sorted({f.code for f in found.findings if f.level == "warn"})
    lines.append(f"| checks that warn | {', '.join(warned) or 'none'} |")
    return "\n".join(lines) + "\n"


def strip(cells: dict[str, str]) -> str:
    """The README's six, three in a row."""
    rows = [STRIP[:3], STRIP[3:]]
    lines = ["| " + " | ".join(cells[key] for key in row) + " |" for row in rows]
    return "\n".join([BEGIN, "", "| | | |", "|---|---|---|", *lines, "", END])


def cell(path: Path, found: Study) -> str:
    """One of them: its parts, its name, how it is made and what that takes."""
    takes = effort_words(found.job, found.design, found.nested)
    picture = (
        f'<img src="docs/gallery/{path.stem}-sheet.svg" width="260" alt="{found.design.title}: its parts">'
    )
    return f"{picture}<br>{found.design.title}: {WAYS[found.design.route]}, {takes}"


def readme(cells: dict[str, str]) -> str:
    """The README with its strip renewed."""
    text = README.read_text(encoding="utf-8")
    head, _, rest = text.partition(BEGIN)
    return head + strip(cells) + rest.partition(END)[2]


def in_words(found: Study) -> str:
    """All that the job sheet says, then every check and the design's numbers, a line each."""
    lines = [found.design.title]
    for section in sheet_content(found, "").sections:
        if section.key != "preset":
            lines += ["", f"== {section.title} (page {section.leaf})"]
            lines += [line for block in section.blocks for line in _lines(block)]
    lines += ["", "== Every check"]
    for finding in found.findings:
        number = " | ".join(
            filter(None, [number_words(finding), finding.where, finding.field, finding.advice])
        )
        lines.append(f"{finding.level} {finding.code}: {finding.title} | {number}")
    lines += ["", "== The design in numbers"]
    lines += [f"{key} = {value}" for key, value in _flat("", design_summary(found.design))]
    return "\n".join(lines) + "\n"


def _lines(block: Block) -> Iterator[str]:
    """What one block of the sheet says."""
    if isinstance(block, Words | Verbatim):
        yield block.text
    elif isinstance(block, Items):
        yield from (f"- {row}" for row in block.rows)
    elif isinstance(block, Boxes):
        yield f"{block.text} [{'] ['.join(block.names)}]"
    elif isinstance(block, Table):
        yield block.caption
        yield from (" | ".join(row) for row in (block.head, *block.rows))
    elif isinstance(block, Drawing):
        yield f"({block.caption} {block.width_mm:.1f} x {block.height_mm:.1f} mm)"


def _flat(path: str, value: object) -> Iterator[tuple[str, str]]:
    """Nested plain values as lines of a path and a value."""
    if isinstance(value, Mapping):
        inner = list(value.items())
    elif isinstance(value, list | tuple) and any(isinstance(one, Mapping) for one in value):
        inner = [(str(number), one) for number, one in enumerate(value)]
    else:
        yield path, json.dumps(value)
        return
    for key, one in inner:
        yield from _flat(f"{path}.{key}".strip("."), one)


def drawings(path: Path, found: Study) -> dict[str, bytes]:
    """The two sheets of a preset by file name."""
    named = zip(("sheet", "plan"), drawing(found.design), strict=True)
    return {f"{path.stem}-{name}.svg": data for name, data in named}


def presets() -> list[Path]:
    """Every shipped preset."""
    return sorted((ROOT / "presets").glob("*.toml"))


def pages(study: Callable[[Path], Study] = study_file) -> tuple[str, str]:
    """The page and the README."""
    made = [(path, study(path)) for path in presets()]
    page = HEAD + "\n".join(entry(path, found) for path, found in made)
    return page, readme({path.stem: cell(path, found) for path, found in made})


def main() -> int:
    """Write, or with ``--check`` name what would be written otherwise (exit 1)."""
    known = {path: study_file(path) for path in presets()}
    page, front = pages(known.__getitem__)
    files = {PAGE: page.encode(), README: front.encode()}
    for path, found in known.items():
        files |= {PICTURES / name: data for name, data in drawings(path, found).items()}
        files[PICTURES / f"{path.stem}-film.svg"] = film_sheet(
            found.design, found.film, verdict=found.verdict.text
        )
        if path.stem in IN_WORDS:
            files[PICTURES / f"{path.stem}.txt"] = in_words(found).encode()
    gone = [path for path in PICTURES.glob("*") if path not in files]
    if "--check" in sys.argv[1:]:
        films = [path for path in files if path.stem.endswith("-film") and path.exists()]
        stale = [path for path, data in files.items() if path not in films and _bytes(path) != data]
        for path in [*stale, *gone]:
            print(f"{path.name} is out of date: run make gallery", file=sys.stderr)
        return int(bool(stale or gone))
    PICTURES.mkdir(parents=True, exist_ok=True)
    for path in gone:
        path.unlink()
    for path, data in files.items():
        path.write_bytes(data)
    print(f"wrote {PAGE} and what belongs to it: {len(files)} files")
    return 0


def _bytes(path: Path) -> bytes:
    return path.read_bytes() if path.exists() else b""


if __name__ == "__main__":
    sys.exit(main())
