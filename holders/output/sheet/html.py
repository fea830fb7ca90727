"""The job sheet as one HTML file: no script, nothing fetched, everything from outside escaped."""

from __future__ import annotations

from html import escape
from xml.etree import ElementTree as ET

from holders.output.draw.canvas import hatches, number
from holders.output.sheet.blocks import Block, Drawing, Items, Section, Sheet, Table, Verbatim, Words
from holders.output.sheet.replay import body_of

STYLE = """
:root { color-scheme: light; }
body { font: 11pt/1.45 "DejaVu Sans", Verdana, sans-serif; color: #000; background: #fff;
  max-width: 190mm; margin: 8mm auto; padding: 0 5mm; }
h1 { font-size: 20pt; margin: 0; } h2 { font-size: 14pt; border-bottom: 1.5pt solid #000; margin: 9mm 0 3mm; }
p.sub { margin: 1mm 0 4mm; } nav ul { columns: 2; margin: 0; padding-left: 5mm; }
a { color: #000; } figure { margin: 3mm 0; break-inside: avoid; } figure svg { width: 100%; height: auto; }
figcaption, caption { text-align: left; font-size: 10pt; font-style: italic; padding: 1mm 0; }
div.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; margin: 2mm 0 4mm; font-size: 9.5pt; break-inside: avoid; }
th, td { border: 0.5pt solid #000; padding: 1mm 1.5mm; text-align: left; vertical-align: top; }
th { font-weight: bold; border-bottom-width: 1.5pt; } li { margin: 0 0 1.2mm; break-inside: avoid; }
p, li, h1, figcaption { overflow-wrap: anywhere; }
td { overflow-wrap: break-word; }
pre { border: 0.5pt solid #000; padding: 2mm; white-space: pre-wrap; overflow-wrap: anywhere; font-size: 9pt; }
h2, caption { break-after: avoid; }
@media print { body { margin: 0; max-width: none; padding: 0; } nav { display: none; } }
""".strip()


def html_bytes(content: Sheet) -> bytes:
    """The sheet as a UTF-8 file; the same sheet gives the same bytes."""
    title = escape(content.title)
    contents = "".join(f'<li><a href="#{s.key}">{escape(s.title)}</a></li>' for s in content.sections)
    parts = [
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}: job sheet</title>\n<style>\n{STYLE}\n</style>\n</head>\n<body>",
        _hatches(),
        f'<header><h1>{title}</h1><p class="sub">{escape(content.subtitle)}</p></header>',
        f'<nav aria-label="Contents"><ul>{contents}</ul></nav>\n<main>',
        *(_section(section) for section in content.sections),
        "</main>\n</body>\n</html>\n",
    ]
    return "\n".join(parts).encode("utf-8")


def _hatches() -> str:
    """The fillings once for all drawings, as ids must not repeat in one file."""
    defs = ET.tostring(hatches(), encoding="unicode", short_empty_elements=False)
    return f'<svg width="0" height="0" style="position:absolute" aria-hidden="true">{defs}</svg>'


def _section(section: Section) -> str:
    blocks = "\n".join(_block(block) for block in section.blocks)
    return f'<section id="{section.key}">\n<h2>{escape(section.title)}</h2>\n{blocks}\n</section>'


def _block(block: Block) -> str:
    match block:
        case Words(text):
            return f"<p>{escape(text)}</p>"
        case Items(rows, numbered):
            tag = "ol" if numbered else "ul"
            return f"<{tag}>{''.join(f'<li>{escape(row)}</li>' for row in rows)}</{tag}>"
        case Table():
            return _table(block)
        case Drawing():
            return _drawing(block)
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


def _drawing(drawing: Drawing) -> str:
    body = ET.tostring(body_of(drawing.svg), encoding="unicode", short_empty_elements=False)
    caption = escape(drawing.caption)
    return (
        f'<figure><svg role="img" aria-label="{caption}" style="max-width:{number(drawing.width_mm)}mm" '
        f'viewBox="0 0 {number(drawing.width_mm)} {number(drawing.height_mm)}">{body}</svg>\n'
        f"<figcaption>{caption}</figcaption></figure>"
    )
