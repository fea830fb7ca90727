"""A preset without its fittings: all that a room below them may know of it.

Each fitting brings a table of its own; :mod:`holders.preset.schema` puts them between the two halves here.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, Field

from holders.core.plain_text import ONE_LINE, PROSE
from holders.facts.models import Route
from holders.preset.tables.base import Key, Table
from holders.preset.tables.holding import Feet, Lip
from holders.preset.tables.making import Coupon, Layout, Room, Split
from holders.preset.tables.more import MOST_MORE, MoreFilm
from holders.preset.tables.rows import BaseChoice, BedChoice, FilmChoice, MaterialChoice, PrinterChoice
from holders.preset.words import Section, Words

FORMAT_VERSION = 3  # what led here from older ones stands in preset/versions.py
T = TypeVar("T", bound=Table)


class FirstKeys(Table):
    """The keys of a preset that stand before its fittings."""

    holders_preset: Annotated[int, Field(ge=1, le=FORMAT_VERSION), Words(hidden=True)] = Field(
        description="Version of this file format."
    )
    title: Annotated[
        str, Field(min_length=1, max_length=80), ONE_LINE, Words("Name of this holder", asked=("extras", 1))
    ] = Field(description="What the holder is called; its folder is named after it.")
    note: Annotated[
        str,
        Field(max_length=2000),
        PROSE,
        Words("Note"),
        Section("note", "A note for others", ("extras", 13)),
    ] = Field(default="", description="Anything others should know.")
    supposed: Annotated[
        tuple[Annotated[str, Field(min_length=1, max_length=400), ONE_LINE], ...], Words(hidden=True)
    ] = Field(
        default=(),
        max_length=12,
        strict=False,  # TOML gives a list
        description="What is supposed in this preset and not measured yet, as its keys and values; take an entry out "
        "when you have measured it. An entry whose keys have other values by now no longer counts.",
    )
    route: Annotated[
        Route,
        Words(
            "How it is made",
            help="Decides which files you get: solids to print, outlines to cut, or templates on paper.",
            choices={"print": "printed", "laser": "cut by laser", "knife": "cut by hand"},
            asked=("making", 1),
        ),
    ] = Field(description="How it is made: print, laser or knife.")
    ledge: Annotated[
        Literal["best", "focus"],
        Words(
            "Height of the ledge",
            help="A ledge at the sharpest height leaves sagging film below it.",
            choices={"best": "best for the film as it sags", "focus": "at the sharpest height"},
        ),
        Section("layout", "Fit, pockets and lettering", ("extras", 12)),
    ] = Field(
        default="best",
        description='"best": the ledge that puts most of the sagging film in focus; "focus": at the focus height.',
    )
    paper: Annotated[
        Key,
        Words("Paper", help="For drawings at full size that are printed and cut out."),
        Section("paper", "Paper for templates", ("making", 5)),
    ] = Field(default="a4", description="Paper for templates, from `holders list papers`.")
    bed: Annotated[
        BedChoice, Section("glass", "The glass and the lamp, measured", ("scanner", 1), heading="my scanner")
    ]
    film: Annotated[
        FilmChoice,
        Section(
            "film-measured",
            "My film, measured",
            ("film", 1),
            intro="Only where yours differs from the table.",
            heading="my film",
        ),
    ]
    base: Annotated[
        BaseChoice,
        Section(
            "base",
            "What the film is made of",
            ("film", 2),
            intro="It decides how far the film sags and curls.",
            heading="the film's base (only if you know it better)",
        ),
    ] = Field(default_factory=BaseChoice)
    more_films: Annotated[
        tuple[MoreFilm, ...],
        Words("Other kinds of film in the same holder"),
        Section(
            "more-films",
            "Other kinds of film in the same holder",
            ("film", 3),
            intro="Packed beside the film above, each kind on a ledge at its own height where it is printed.",
            heading="other kinds of film in the same holder: a block for each",
        ),
    ] = Field(
        default=(),
        max_length=MOST_MORE,
        strict=False,  # TOML gives a list
        description="Other kinds of film in the same holder, each with the keys of [film], its count and its base.",
    )
    material: Annotated[
        MaterialChoice,
        Section("material", "My material, measured", ("making", 2), heading="what the holder is made of"),
    ]
    printer: Annotated[
        PrinterChoice,
        Section("printer", "My printer, measured", ("making", 1), heading="the printer (route print)"),
    ] = Field(default_factory=PrinterChoice)
    lip: Annotated[
        Lip,
        Section(
            "lip",
            "The lip, edge by edge",
            ("extras", 1),
            intro="The lip is how far the ledge reaches under the film.",
            heading="how far the ledge reaches under the film",
        ),
    ] = Field(default_factory=Lip)
    feet: Annotated[
        Feet | None,
        Section(
            "feet",
            "Feet",
            ("extras", 2),
            intro="Soft feet keep the holder from sliding, and add to its height.",
            heading="anti-slip feet: take the # from [feet] and below to have them",
        ),
    ] = None


class LastKeys(Table):
    """The keys of a preset that stand after its fittings."""

    layout: Annotated[
        Layout,
        Section(
            "layout",
            "Fit, pockets and lettering",
            ("extras", 12),
            heading="how many films, and how the holder fits the bed",
        ),
    ] = Field(default_factory=Layout)
    split: Annotated[
        Split,
        Section(
            "split",
            "Parts too large for the printer",
            ("making", 3),
            heading="parts too large for the printer",
        ),
    ] = Field(default_factory=Split)
    coupon: Annotated[
        Coupon,
        Section(
            "coupon",
            "What my test piece told",
            ("making", 4),
            intro="The job sheet's test piece shows how wide the cut is and how tight a fit may be. "
            "Read it off once for each machine and material.",
            heading="what the test piece told (holders make --coupon)",
        ),
    ] = Field(default_factory=Coupon)
    room: Annotated[Room, Section("room", "The room", ("scanner", 2), heading="where the scanner stands")] = (
        Field(default_factory=Room)
    )


class PlainPreset(LastKeys, FirstKeys):
    """A holder as its photographer wants it, whatever is fitted to it."""


def table_of(preset: BaseModel, kind: type[T]) -> T | None:
    """The preset's table of a kind, which a fitting brought; None where the preset leaves it out."""
    return next((table for _, table in preset if isinstance(table, kind)), None)
