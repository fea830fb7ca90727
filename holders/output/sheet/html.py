"""The job sheet as one HTML file: no script, nothing fetched, everything from outside escaped."""

from __future__ import annotations

import re
import string
from collections.abc import Iterator, Sequence
from html import escape, unescape
from xml.etree import ElementTree as ET

from holders.output.draw.canvas import hatches, number
from holders.output.sheet.blocks import (
    Block,
    Boxes,
    Drawing,
    Items,
    Section,
    Sheet,
    Steps,
    Table,
    Verbatim,
    Words,
)
from holders.output.sheet.replay import body_of
from holders.output.typeface import face_rules

ASCII = string.ascii_letters + string.digits + string.punctuation + " "

STYLE = """
:root { color-scheme: light; }
body { font: 11.5pt/1.36 "Source Sans Pro", sans-serif; color: #000; background: #fff;
  max-width: 190mm; margin: 8mm auto; padding: 0 5mm; }
h1 { font-size: 19pt; margin: 0; line-height: 1.2; } h2 { font-size: 13pt; margin: 6mm 0 2mm; }
p { margin: 1mm 0 2mm; } p.sub { margin: 1mm 0 3mm; } nav { border-block: 0.5pt solid #000; padding: 2mm 0; }
nav ul { columns: 3 11em; margin: 0; padding: 0; list-style: none; }
a { color: #000; } figure { margin: 2mm 0; break-inside: avoid; } figure svg { width: 100%; height: auto; }
figcaption, caption { text-align: left; font-size: 10.4pt; font-style: italic; padding: 1mm 0; }
div.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; margin: 2mm 0 3mm; font-size: 10.4pt; break-inside: avoid; }
th, td { border-bottom: 0.5pt solid #888; padding: 0.8mm 2mm 0.8mm 0; text-align: left; vertical-align: top; }
th { font-weight: bold; border-bottom: 1.2pt solid #000; } li { margin: 0 0 1.2mm; break-inside: avoid; }
#verdict p:first-of-type { font-weight: bold; font-size: 12pt; }
.pair { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 82mm), 1fr)); gap: 0 7mm; }
ol.steps { list-style: none; padding: 0; display: grid; gap: 2mm 5mm;
  grid-template-columns: repeat(auto-fit, minmax(min(100%, 82mm), 1fr)); }
ol.steps li { display: grid; grid-template-columns: 22mm 1fr; gap: 3mm; } ol.steps svg { width: 22mm; height: auto; }
.boxes { display: flex; gap: 3mm; align-items: center; margin: 1mm 0 4mm; }
.boxes svg { flex: none; width: auto; height: 14mm; }
.boxes ul { flex: 1; list-style: none; padding: 0; display: grid; grid-template-columns: repeat(4, 1fr); margin: 0; }
.boxes li { border: 0.8pt solid #000; min-height: 10mm; padding: 0.5mm 1.5mm; margin-left: -0.8pt; font-size: 10.4pt; }
p, li, h1, figcaption { overflow-wrap: anywhere; }
td { overflow-wrap: break-word; }
pre { border: 0.5pt solid #000; padding: 2mm; white-space: pre-wrap; overflow-wrap: anywhere; font-size: 9pt; }
h2, caption { break-after: avoid; }
div.leaf + div.leaf { border-top: 1.5pt solid #000; margin-top: 8mm; }
@media print { body { margin: 0; max-width: none; padding: 0; font-size: 9.9pt; } nav { display: none; }
  div.leaf + div.leaf { break-before: page; border: 0; margin: 0; } }
""".strip()


def html_bytes(content: Sheet) -> bytes:
    """The sheet as a UTF-8 file with its letters in it; the same sheet gives the same bytes."""
    title = escape(content.title)
    contents = "".join(f'<li><a href="#{s.key}">{escape(s.title)}</a></li>' for s in content.sections)
    leaves = [
        f'<div class="leaf">{"".join(_paired([s for s in content.sections if s.leaf == leaf]))}</div>'
        for leaf in sorted({section.leaf for section in content.sections})
    ]
    body = "\n".join(leaves)
    letters = f"{content.title}{content.subtitle}{re.sub(r'<[^>]*>', '', unescape(body))}"
    rules = face_rules(letters + ASCII, ASCII + content.title)
    parts = [
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}: job sheet</title>\n<style>\n{rules}\n{STYLE}\n</style>\n</head>\n<body>",
        _hatches(),
        f'<header><h1>{title}</h1><p class="sub">{escape(content.subtitle)}</p></header>',
        f'<nav aria-label="Contents"><ul>{contents}</ul></nav>\n<main>',
        body,
        "</main>\n</body>\n</html>\n",
    ]
    return "\n".join(parts).encode("utf-8")


def _paired(sections: Sequence[Section]) -> Iterator[str]:
    """The sections in order, two halves in a row side by side."""
    waiting: str | None = None
    for section in sections:
        made = _section(section)
        if not section.half:
            yield made
        elif waiting is None:
            waiting = made
        else:
            yield f'<div class="pair">{waiting}{made}</div>'
            waiting = None
    if waiting is not None:
        yield waiting


def _hatches() -> str:
    """The fillings once for all drawings, as ids must not repeat in one file."""
    defs = ET.tostring(hatches(), encoding="unicode", short_empty_elements=False)
    return f'<svg width="0" height="0" style="position:absolute" aria-hidden="true">{defs}</svg>'


def _section(section: Section) -> str:
    blocks = "\n".join(_block(block) for block in section.blocks)
    return f'<section id="{section.key}">\n<h2>{escape(section.title)}</h2>\n{blocks}\n</section>'


def _block(block: Block) -> str:  # noqa: PLR0911 - one a kind
    match block:
        case Words(text):
            return f"<p>{escape(text)}</p>"
        case Steps(rows=rows, pictures=pictures):
            steps = zip(rows, pictures, strict=True)
            items = "".join(
                f"<li>{_svg(picture, hidden=True)}<span><strong>{k}</strong>&ensp;{escape(row)}</span></li>"
                for k, (row, picture) in enumerate(steps, 1)
            )
            return f'<ol class="steps">{items}</ol>'
        case Items(rows, numbered):
            tag = "ol" if numbered else "ul"
            return f"<{tag}>{''.join(f'<li>{escape(row)}</li>' for row in rows)}</{tag}>"
        case Boxes(text, names, picture):
            boxes = "".join(f"<li>{escape(name)}</li>" for name in names)
            drawn = "" if picture is None else _svg(picture, hidden=True)
            return f'<p>{escape(text)}</p><div class="boxes">{drawn}<ul>{boxes}</ul></div>'
        case Table():
            return _table(block)
        case Drawing():
            return f"<figure>{_svg(block)}\n<figcaption>{escape(block.caption)}</figcaption></figure>"
        case Verbatim(text=text):
            return f"<pre>{escape(text)}</pre>"


def _table(table: Table) -> str:
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in table.head)
    rows = "\n".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in table.rows
    )
    return (
        f'<div class="scroll"><table><caption>{escape(table.caption)}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody></table></div>"
    )


def _svg(drawing: Drawing, hidden: bool = False) -> str:
    body = ET.tostring(body_of(drawing.svg), encoding="unicode", short_empty_elements=False)
    said = 'aria-hidden="true"' if hidden else f'role="img" aria-label="{escape(drawing.caption)}"'
    return (
        f'<svg {said} style="max-width:{number(drawing.width_mm)}mm" '
        f'viewBox="0 0 {number(drawing.width_mm)} {number(drawing.height_mm)}">{body}</svg>'
    )
