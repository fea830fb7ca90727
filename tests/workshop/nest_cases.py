"""Five holders cut from sheets, as nesting cases: three shipped presets and variants of shipped ones."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from holders.design.pieces.cutting import CutPart, cut_part
from holders.design.resolve import design
from holders.preset.resolve import resolve
from holders.preset.schema import Preset
from holders.workshop.coupon.coupon import coupon
from holders.workshop.nest.nest import StockSheet
from holders.workshop.nest.nest_job import by_thickness, stock_of

PRESETS = Path(__file__).resolve().parents[2] / "presets"
Case = tuple[str, tuple[CutPart, ...], tuple[StockSheet, ...]]


def preset(name: str, **changes: Any) -> Preset:
    """A shipped preset with tables merged in."""
    data = tomllib.loads((PRESETS / f"{name}.toml").read_text(encoding="utf-8"))
    for key, value in changes.items():
        data[key] = {**data.get(key, {}), **value} if isinstance(value, dict) else value
    return Preset.model_validate(data)


def cut(made: Preset, copies: int = 1) -> tuple[list[CutPart], tuple[StockSheet, ...]]:
    """Every piece of a holder as cut paths, and the stock it is cut from."""
    job = resolve(made)
    kerf = job.material.kerf_mm if made.route == "laser" else 0.0
    return [cut_part(p, kerf) for p in design(job).parts for _ in range(copies)], stock_of(job.material)


def cases() -> list[Case]:
    """(name, parts of one thickness, stock) for every thickness of the five."""
    found: list[Case] = []

    def add(name: str, parts: list[CutPart], stock: tuple[StockSheet, ...]) -> None:
        for thickness, mine in by_thickness(parts):
            found.append((f"{name}, {thickness:g} mm", mine, stock))

    add("1 50 mm mounts, MDF, 2 holders", *cut(preset("50mm-mounts"), 2))
    add("2 6x9 roll, plywood, 3 holders", *cut(preset("6x9-roll"), 3))
    add("3 8x10 acrylic with lid, 2 holders", *cut(preset("8x10-acrylic-lid"), 2))
    add("4 8x10 mat board by laser, 5 holders", *cut(preset("8x10-mat-board", route="laser", cover=None), 5))
    add("5 the archive's Thursday: 8x10 frames, 4x5 lids, test piece, MDF", *thursday())
    return found


def thursday() -> tuple[list[CutPart], tuple[StockSheet, ...]]:
    """Three 8x10 frames, eight lids of 4x5 and a test piece from one thickness of MDF: windows hold the small parts."""
    mdf = {"name": "mdf", "sheets_mm": [3.0]}
    frames, stock = cut(
        preset("8x10-mat-board", route="laser", material=mdf, bed={"focus_height_mm": 3.0}, cover=None), 3
    )
    small, _ = cut(
        preset("4x5-four-up", route="laser", material=mdf, feet=None, layout={"count": 4},
               lid={"tabs": 0, "lip_mm": 1.0, "magnets": 0}), 2,
    )  # fmt: skip
    lids = [p for p in small if p.name.startswith("lid")]
    piece = [cut_part(p, 0.0) for p in coupon("laser", "mdf", 3.0).parts]
    return [*(f for f in frames if f.name.startswith("sheet")), *lids, *piece], stock
