"""The options of ``holders surface``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

ScanA = Annotated[Path | None, typer.Argument(metavar="SCAN_A", help="The film in its holder.")]
ScanB = Annotated[
    Path | None, typer.Argument(metavar="SCAN_B", help="The same after the holder was moved across the bed.")
]
ScanC = Annotated[
    Path | None,
    typer.Argument(metavar="SCAN_C", help="The same with the holder back at its first place."),
]
Shift = Annotated[
    float | None, typer.Option("--shift", metavar="MM", help="About how far it was moved; a check only.")
]
Ledge = Annotated[
    float | None,
    typer.Option("--ledge", metavar="MM", help="Height above the glass of the film on its ledge."),
]
LensDistance = Annotated[
    float | None,
    typer.Option("--lens-distance", metavar="MM", help="Way of the light from the glass to the lens."),
]
Raised = Annotated[
    float | None,
    typer.Option(
        "--raised",
        metavar="MM",
        help="SCAN_B has the holder raised by this, not moved: measure the lens.",
    ),
]
LensRecord = Annotated[
    Path | None,
    typer.Option("--record", metavar="FILE", help="With --raised or --flat: keep it in this bed record."),
]
Holder = Annotated[
    Path | None,
    typer.Option("--preset", metavar="PRESET", help="The holder: its ledge, its bed, the sharp band."),
]
WritePreset = Annotated[
    Path | None,
    typer.Option(
        "--write-preset",
        metavar="FILE",
        help="Write a copy of PRESET whose curl and ledge are those of the measured film.",
    ),
]
FilmRecord = Annotated[
    Path | None,
    typer.Option("--film-record", metavar="FILE", help="Keep the film's curl, where its surface shows it."),
]
Sheet = Annotated[
    bool,
    typer.Option("--sheet", help="Write a page that shows how: stop, slide, stop; how far for which film."),
]
Flat = Annotated[
    bool,
    typer.Option(
        "--flat",
        help="The scans show a flat target, as a glass negative: measure the lens's distortion.",
    ),
]
