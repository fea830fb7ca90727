"""The list of a session's sheets on paper, as a page of HTML that needs nothing beside it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from holders.measure.session.record import Sheet

STYLE = (
    "body{font:11pt/1.35 sans-serif;margin:1.5cm}table{border-collapse:collapse;width:100%}"
    "th,td{border-bottom:1px solid #888;padding:3pt 6pt;text-align:left;vertical-align:top}"
    "tr.again{font-weight:bold}td.box{width:1.2em;border:1px solid #000}@page{margin:1.5cm}"
)


def again_words(sheets: Sequence[Sheet]) -> str:
    """Which sheets to scan again: "scan again: 07, 31"."""
    numbers = [f"{sheet.number:02d}" for sheet in sorted(sheets, key=lambda s: s.number) if sheet.faults]
    return (
        f"scan again: {', '.join(numbers)}"
        if numbers
        else "no sheet needs another scan, by what the scans show"
    )


def sheet_list(title: str, sheets: Sequence[Sheet]) -> bytes:
    """The list to print: a row for each sheet, those to scan again in bold with a box to tick."""
    rows = "".join(_row(sheet) for sheet in sorted(sheets, key=lambda s: s.number))
    head = "".join(
        f"<th>{name}</th>" for name in ("sheet", "file", "pocket", "side", "scanned", "result", "done")
    )
    return (
        f'<!doctype html>\n<html lang="en"><meta charset="utf-8"><title>{escape(title)}: sheets</title>\n'
        f"<style>{STYLE}</style>\n<h1>{escape(title)}</h1>\n"
        f"<p>{len(sheets)} sheets; {escape(again_words(sheets))}.</p>\n"
        f"<table><tr>{head}</tr>\n{rows}</table></html>\n"
    ).encode()


def _row(sheet: Sheet) -> str:
    again, box = (' class="again"', ' class="box"') if sheet.faults else ("", "")
    when = sheet.time.replace("T", " ")
    cells = (f"{sheet.number:02d}", sheet.file, str(sheet.pocket), sheet.side, when, sheet.told)
    return f"<tr{again}>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}<td{box}></td></tr>\n"
