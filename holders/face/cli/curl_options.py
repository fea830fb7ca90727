"""The options of ``holders curl``: their names, and the words that --help shows."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def _mm(name: str, words: str) -> object:
    return typer.Option(name, metavar="MM", help=words)


CurlScans = Annotated[
    list[Path] | None,
    typer.Argument(
        metavar="SCAN...",
        help="One scan of film stood on its edge, or two: on its long and on its short side.",
    ),
]
Chord = Annotated[float | None, _mm("--chord", "With a ruler: distance between the film's two ends.")]
Rise = Annotated[float | None, _mm("--rise", "With a ruler: how far its middle is off that line.")]
ReadingOff = Annotated[float, _mm("--reading", "How far one reading of the ruler may be off.")]
Gauge = Annotated[bool, typer.Option("--gauge", help="Write a paper gauge of arcs to print at 1:1.")]
GaugePaper = Annotated[str, typer.Option("--paper", help="Paper of the gauge, from `holders list papers`.")]
HollowSide = Annotated[
    str | None,
    typer.Option(
        "--hollow",
        metavar="SIDE",
        help="emulsion or base: the side that the arc is hollow toward; gives the sign.",
    ),
]
Order = Annotated[
    str | None,
    typer.Option(
        "--order",
        metavar="WAYS",
        help="along (film on its long side), across (on its short side); for two scans along,across.",
    ),
]
Dpi = Annotated[float | None, typer.Option("--dpi", help="Resolution, if the file does not say it right.")]
Axis = Annotated[
    float | None,
    _mm(
        "--axis",
        "Middle of the bed's width, from the picture's left edge; default: middle of a wide picture.",
    ),
]
FilmRecordFile = Annotated[
    Path | None, typer.Option("--record", metavar="FILE", help="Keep the curl in this film record.")
]
FilmFormatName = Annotated[str, typer.Option("--format", help="Format of the film, for the record.")]
FilmBaseName = Annotated[
    str, typer.Option("--base", help="Base of the film, for friction under the edge and for the record.")
]
Humidity = Annotated[
    float | None,
    typer.Option("--humidity", metavar="PERCENT", help="Relative humidity of the room, for the record."),
]
Temperature = Annotated[
    float | None, typer.Option("--temperature", metavar="C", help="Temperature of the room, for the record.")
]
FilmNote = Annotated[str, typer.Option("--note", help="A word to remember the film by.")]
