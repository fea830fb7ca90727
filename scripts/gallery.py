"""Draw the gallery: every shipped preset as two sheets (parts; plan and section) and its film, with its numbers.

Writes ``docs/gallery.md``, ``docs/gallery/*.svg`` and the strip of six in the README; ``--check`` reports drift of the
page, the sheets and the strip (the film pictures hold solved numbers, so only their presence is checked).
"""

from __future__ import annotations

import sys
from pathlib import Path

from holders.face.page.work.routes import effort_words
from holders.facts.height_names import FEET, LEDGE
from holders.output.draw.film import film_sheet
from holders.output.draw.sheet import drawing
from holders.study import Study, study_file

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "gallery.md"
PICTURES = ROOT / "docs" / "gallery"
README = ROOT / "README.md"
BEGIN, END = "<!-- six of the gallery, by scripts/gallery.py -->", "<!-- end of the six -->"
STRIP = ("8x10-printed", "8x10-acrylic-lid", "8x10-mat-board", "4x5-four-up", "6x9-roll", "mixed-formats")
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


def pages() -> tuple[str, str, dict[str, bytes], dict[str, bytes]]:
    """The page, the README, the sheets and the film pictures by file name."""
    parts, cells, sheets, films = [], {}, {}, {}
    for path in sorted((ROOT / "presets").glob("*.toml")):
        found = study_file(path)
        parts.append(entry(path, found))
        cells[path.stem] = cell(path, found)
        for name, data in zip(("sheet", "plan"), drawing(found.design), strict=True):
            sheets[f"{path.stem}-{name}.svg"] = data
        films[f"{path.stem}-film.svg"] = film_sheet(found.design, found.film, verdict=found.verdict.text)
    return HEAD + "\n".join(parts), readme(cells), sheets, films


def main() -> int:
    """Write, or with ``--check`` compare (exit 1 on drift)."""
    page, front, sheets, films = pages()
    if "--check" in sys.argv[1:]:
        stale = [name for name, data in sheets.items() if _bytes(PICTURES / name) != data]
        stale += [name for name in films if not (PICTURES / name).exists()]
        stale += [p.name for p in PICTURES.glob("*") if p.name not in sheets and p.name not in films]
        stale += [
            file.name for file, text in ((PAGE, page), (README, front)) if _bytes(file) != text.encode()
        ]
        for name in stale:
            print(f"{name} is out of date: run make gallery", file=sys.stderr)
        return 1 if stale else 0
    PICTURES.mkdir(parents=True, exist_ok=True)
    for old in PICTURES.glob("*.svg"):
        old.unlink()
    for name, data in {**sheets, **films}.items():
        (PICTURES / name).write_bytes(data)
    PAGE.write_text(page, encoding="utf-8")
    README.write_text(front, encoding="utf-8")
    print(f"wrote {PAGE} and {len(sheets) + len(films)} pictures")
    return 0


def _bytes(path: Path) -> bytes:
    return path.read_bytes() if path.exists() else b""


if __name__ == "__main__":
    sys.exit(main())
