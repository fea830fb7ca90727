"""Arguments and options that several commands have, and those of ``inspect``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

PresetArgument = Annotated[
    Path, typer.Argument(metavar="PRESET", help="A preset file (.toml), or the name of a shipped preset.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON object on standard output.")]
RecordOption = Annotated[
    Path | None,
    typer.Option(
        "--bed-record", metavar="FILE", help="Measurements of your bed (from `holders focus --record`)."
    ),
]
DpiOption = Annotated[float | None, typer.Option("--dpi", help="Resolution, if files do not say it right.")]
AllOption = Annotated[
    bool, typer.Option("--all", help="Show every check, also those that passed or do not apply.")
]
TargetOption = Annotated[
    str | None,
    typer.Option(
        "--target",
        metavar="KIND",
        help="What lies on the slope: acrylic-ruler, steel-ruler, film, or flat (held all along).",
    ),
]
ThicknessOption = Annotated[
    float | None, typer.Option("--target-thickness", metavar="MM", help="How thick it is: thin rulers sag.")
]
SpanOption = Annotated[
    float | None,
    typer.Option("--span", metavar="MM", help="Free length between its supports (default: the run)."),
]
OutOption = Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder to write into.")]
NoStepsOption = Annotated[
    bool,
    typer.Option("--no-steps", help="Judge only, a few seconds; do not try what would raise the chance."),
]
ScanArgument = Annotated[Path, typer.Argument(metavar="SCAN", help="A finished scan.")]
InspectPreset = Annotated[
    Path | None, typer.Option("--preset", metavar="PRESET", help="What it was made with.")
]
BeforeOption = Annotated[
    Path | None,
    typer.Option("--before", metavar="SCAN", help="An earlier scan of the same film, to compare with."),
]
WriteCorrected = Annotated[
    Path | None,
    typer.Option(
        "--write-preset", metavar="FILE", help="Write a copy of PRESET with the measured correction."
    ),
]
SecondOption = Annotated[
    Path | None,
    typer.Option(
        "--second",
        metavar="SCAN",
        help="The same after the holder was moved across: measures how film lies.",
    ),
]
EmptyOption = Annotated[
    bool,
    typer.Option("--empty", help="SCAN shows the holder without film: its windows, its light, dust."),
]
RegisterOption = Annotated[
    Path | None,
    typer.Option(
        "--register",
        metavar="FILE",
        help="With --empty: keep it there. Else: tell the holder's own light from the picture by it.",
    ),
]
MadeOption = Annotated[
    Path | None,
    typer.Option(
        "--register",
        metavar="FILE",
        help="Your register of holders: what puts this one right stands before what a new one gains.",
    ),
]
MadeDay = Annotated[
    str | None,
    typer.Option("--made", metavar="DATE", help="The day it was made, as 2026-11-29; kept in the register."),
]
AnywayOption = Annotated[
    str | None,
    typer.Option(
        "--anyway", metavar="REASON", help="Write files although a check says stop; the reason is recorded."
    ),
]
SessionFolder = Annotated[
    Path, typer.Argument(metavar="DIR", help="The folder that your scans are saved in.")
]
SessionPreset = Annotated[
    Path, typer.Option("--preset", metavar="PRESET", help="The holder they are made with.")
]
PocketOption = Annotated[
    str | None,
    typer.Option(
        "--pocket",
        metavar="N|names|FILE",
        help="Which pocket the scans show: one number for all, names (each file's own, as in mill_p3_07.tif), or a "
        "table (CSV with the columns file and pocket).",
    ),
]
LightOption = Annotated[
    Path | None,
    typer.Option(
        "--register",
        metavar="FILE",
        help="Your register: tells the holder's own light from the picture by it.",
    ),
]
WatchOption = Annotated[bool, typer.Option("--watch", help="Go on while scans arrive, until Ctrl-C.")]
WindowOption = Annotated[
    int | None,
    typer.Option("--window", metavar="N", help="Which window, in a holder for several kinds of film."),
]
RampSheet = Annotated[
    float | None, typer.Option("--sheet", metavar="MM", help="Also cut it: measured thickness of the sheet.")
]
RampHigh = Annotated[
    float, typer.Option("--high", metavar="MM", help="Height that the slope climbs to (up to 10).")
]
RampLayer = Annotated[float, typer.Option("--layer", metavar="MM", help="Layer height it is printed with.")]
RampFrame = Annotated[
    float, typer.Option("--frame", metavar="MM", help="Thickness of the frame on the target (5 or more).")
]
LidRoom = Annotated[
    float | None,
    typer.Option("--lid-room", metavar="MM", help="Room below the scanner's closed lid, to see if it fits."),
]
RampTarget = Annotated[
    float, typer.Option("--target-width", metavar="MM", help="Width of the ruler or film strip it carries.")
]
