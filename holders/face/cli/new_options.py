"""The options of ``new``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

NewFile = Annotated[
    Path, typer.Argument(metavar="FILE", help="The preset file to write; must not exist yet.")
]
Title = Annotated[str | None, typer.Option(help="What the holder is called.")]
Format = Annotated[
    str | None, typer.Option("--format", help="Film format, as listed or in plain words; left out: 4x5.")
]
Count = Annotated[int, typer.Option(min=1, max=60, help="How many of it.")]
Also = Annotated[
    list[str] | None,
    typer.Option(
        "--also",
        metavar="FORMAT[:COUNT]",
        help="A further kind of film in the same holder, and how many, e.g. roll-6x9-single:2; repeat.",
    ),
]
Bed = Annotated[str | None, typer.Option(help="Bed; left out: a4-wide.")]
Route = Annotated[str | None, typer.Option(help="print, laser or knife; left out: print.")]
Material = Annotated[
    str | None,
    typer.Option(
        help='Material, with the sheets you have: "3 mm, 1.5 mm plywood"; left out: a usual one for the route.'
    ),
]
Printer = Annotated[str | None, typer.Option(help="Printer; left out: the smallest that takes the holder.")]
Lid = Annotated[bool, typer.Option(help="With a lid frame.")]
Feet = Annotated[bool, typer.Option(help="With anti-slip feet.")]
Coupon = Annotated[
    bool,
    typer.Option("--coupon", help="Ask for what a test piece told (from `holders make PRESET --coupon`)."),
]
Reading = Annotated[
    list[str] | None,
    typer.Option(
        "--reading",
        metavar="KEY=VALUE",
        help='One such reading, e.g. --reading "holes_mm=20.18 20.2"; repeat.',
    ),
]
Source = Annotated[
    Path | None,
    typer.Option(
        "--from",
        metavar="PRESET",
        help="Begin with somebody else's preset, without what they measured on their own scanner and stock.",
    ),
]
Full = Annotated[bool, typer.Option("--full", help="With every key there is, explained.")]
Plain = Annotated[bool, typer.Option("--plain", help="Add no part that was not asked for; nothing is tried.")]
