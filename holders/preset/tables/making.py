"""Tables of how the holder is laid out and made, and of where it is used: layout, split, coupon, room."""

from __future__ import annotations

import itertools
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from holders.preset.tables.base import Engraved, Length, Reading, Readings, SmallLength, Table
from holders.preset.words import Words


class Layout(Table):
    """How windows stand on the bed and how the holder fits it."""

    count: Annotated[
        Annotated[int, Field(ge=1, le=60)] | Literal["fill"],
        Words(
            "How many films",
            help="A number, or the word fill for as many as the lamp area takes.",
            asked=("film", 3),
        ),
    ] = Field(default=1, description='How many films, or "fill" for as many as the lamp area takes.')
    turn: Annotated[
        Literal["auto", "never", "always"],
        Words(
            "Lay film across the bed",
            choices={"auto": "where that takes more films", "never": "never", "always": "always"},
            asked=("film", 4),
        ),
    ] = Field(default="auto", description="Whether film may lie with its long side across the bed.")
    slide_gap_mm: Annotated[SmallLength, Words("Gap to the rim of the glass")] = Field(
        default=0.5, description="Gap between the holder and the rim of the glass, each side."
    )
    outer_width_mm: Length | None = Field(default=None, description="Outer size across; left out: the glass.")
    outer_length_mm: Length | None = Field(default=None, description="Outer size along; left out: the glass.")
    shift_room_mm: Annotated[
        Annotated[float, Field(ge=4, le=150, allow_inf_nan=False)] | None,
        Words(
            "Room to slide across the bed",
            help="A frame that much narrower, with a spacer for normal use: without it the holder slides sideways, and "
            "two scans show how the film lies.",
        ),
    ] = Field(
        default=None,
        description="How far the holder can slide across the bed once its spacer is taken out, for `holders surface`: "
        "the frame is made that much narrower. 10 is enough to measure with, 20 to 40 measures better.",
    )
    anchor: Annotated[
        Literal["middle", "home-corner", "head-corner"],
        Words(
            "Place on the glass",
            choices={
                "middle": "over the middle, with stops",
                "home-corner": "in the home corner",
                "head-corner": "in the far left corner",
            },
        ),
    ] = Field(
        default="middle",
        description="Where a holder smaller than the glass lies: over its middle (loose stops are made with it that "
        "bring it there), or against the left rim and the rim at the home end or at the head.",
    )
    mask_card_mm: Annotated[
        Annotated[float, Field(ge=0.1, le=1.5, allow_inf_nan=False)] | None,
        Words(
            "Mask of black card, thickness",
            help="Card on the lit glass around a holder smaller than the glass, and for pockets that stay empty, as "
            "1:1 templates for a knife. Usual card is 0.3 to 0.5 mm thick.",
        ),
    ] = Field(
        default=None,
        description="Thickness of black card for a mask on the lit glass around a smaller holder and for pockets that "
        "stay empty, cut by knife along cards.pdf; left out: no card.",
    )
    mask_from: Annotated[
        Literal["card", "sheet"],
        Words(
            "Mask around the holder, cut from",
            choices={
                "card": "black card, where a thickness of it is given",
                "sheet": "the holder's own sheet, beside its parts",
            },
            help="From the holder's own sheet the mask takes no other material, and is cut together with the parts. "
            "The sheet must be opaque (laser, knife).",
        ),
    ] = Field(
        default="card",
        description='What the mask on the glass is cut from: "card": black card of mask_card_mm; "sheet": the thinnest '
        "sheet that the holder itself is cut from, beside its parts, in the same files (laser, knife; opaque sheets "
        "only). Cards for empty pockets are of mask_card_mm either way.",
    )
    wall_mm: Annotated[SmallLength | None, Words("Least wall")] = Field(
        default=None, description="Least wall between pockets and around them; left out: by the route."
    )
    clearance_mm: Annotated[SmallLength, Words("Gap round the film")] = Field(
        default=0.3,
        description="Gap between the largest film the tolerance allows and the pocket, each side.",
    )
    pocket_depth_mm: SmallLength | None = Field(
        default=None,
        description="Height of the pocket wall above the ledge; left out: by the route. 0 (laser, knife): one board, "
        "the film lies on top of it.",
    )
    light: Annotated[bool, Words("Light frame")] = Field(
        default=False,
        description="Trays in the frame where it carries nothing, down to a thin floor that keeps the light off: less "
        "plastic and fewer hours for a small film (print).",
    )
    corner_stops: Annotated[bool, Words("Corner stops on the board")] = Field(
        default=False,
        description="Angles at the film's corners, cut from the board that falls out and glued on (laser and knife, "
        "on a board without a pocket).",
    )
    corner_radius_mm: SmallLength | None = Field(
        default=None,
        description="Radius of the holder's outer corners; left out: by the route (a knife cuts them square).",
    )
    relief: Annotated[
        Literal["auto", "none"],
        Words("Slope under the window edge", choices={"auto": "as large as there is room", "none": "none"}),
    ] = Field(
        default="auto",
        description="Chamfer or step under the window edge, so that it does not shade the lens.",
    )
    finger_notches: bool = Field(default=True, description="Notches beside the film for a fingernail.")
    label: Annotated[bool, Words("Lettering")] = Field(
        default=True, description="Lettering: which side up, pocket numbers, code, height."
    )


class Split(Table):
    """What becomes of a part that is too large for the printer's plate (print)."""

    mode: Annotated[
        Literal["auto", "never"],
        Words("Cut into pieces", choices={"auto": "where a part is too large", "never": "never"}),
    ] = Field(
        default="auto",
        description='"auto": it is cut into the fewest interlocking pieces that fit; "never": it stays whole.',
    )
    fit: Annotated[
        Literal["glue", "press"],
        Words(
            "Pieces hold together",
            choices={"glue": "glued on a flat plate", "press": "pressed together without glue"},
        ),
    ] = Field(
        default="glue",
        description="How the pieces hold together: glued on a flat plate, or pressed together without glue.",
    )
    clearance_mm: Annotated[
        Annotated[float, Field(ge=0, le=0.5, allow_inf_nan=False)] | None, Words("Gap in the joints")
    ] = Field(
        default=None,
        description="Gap between tongue and socket, each side, as a coupon found it; left out: 0.1 glued, "
        "0.05 pressed.",
    )


def _climbing(heights: tuple[float, ...]) -> tuple[float, ...]:
    """Heights of a stair as they were read: each step higher than the one before."""
    for low, high in itertools.pairwise(heights):
        if high <= low:
            raise ValueError(
                f"the stair climbs, so {high:g} mm cannot come after {low:g} mm: give its steps from the lowest to the "
                "highest, each measured from the plate's underside"
            )
    return heights


class Coupon(Table):
    """What was read off the test piece of `holders make --coupon`; numbers stated elsewhere in the preset win."""

    holes_mm: Annotated[Readings, Words("Square hole, its sides")] = Field(
        default=(), description="Square hole of the plate (drawn 20 mm): its sides, measured inside."
    )
    plugs_mm: Annotated[Readings, Words("Loose plug, its sides")] = Field(
        default=(), description="Loose square plug (drawn 10 mm): its sides, measured outside."
    )
    pocket: Annotated[Engraved | None, Words("Tightest pocket the plug goes into")] = Field(
        default=None, description="Number beside the tightest pocket that the plug went into by hand."
    )
    slot: Annotated[Engraved | None, Words("Tightest slot the tongue goes into")] = Field(
        default=None,
        description="Number beside the tightest slot that the tongue went into, on edge, by hand.",
    )
    tongue_mm: Annotated[Reading | None, Words("Thickness of the tongue")] = Field(
        default=None, description="Thickness of the tongue, measured."
    )
    thickness_mm: Annotated[Reading | None, Words("Thickness engraved on the piece")] = Field(
        default=None,
        description="Thickness engraved after the material's name; left out: as this preset's test piece is drawn.",
    )
    heights_mm: Annotated[Readings, AfterValidator(_climbing), Words("Steps of the stair, lowest first")] = (
        Field(default=(), description="The three steps of the stair, lowest first, measured (print).")
    )
    glued_mm: Annotated[Reading | None, Words("Height of the glued stack")] = Field(
        default=None,
        description="Height of sheets glued on one another, measured when set (laser and knife).",
    )
    glued_sheets_mm: Annotated[Readings, Words("Its sheets before gluing")] = Field(
        default=(), description="The thicknesses of those sheets, measured before gluing."
    )
    ledge_mm: Annotated[Readings, Words("Ledge of the last holder made")] = Field(
        default=(),
        description="Heights of the ledge of the last holder made from this preset, above a flat glass, measured at "
        "left, right, head and foot (print); the command for a measured holder writes these two lines.",
    )
    ledge_drawn_mm: Annotated[Reading | None, Words("Its ledge as drawn")] = Field(
        default=None, description="How high above the glass that ledge was drawn."
    )


class Room(Table):
    """Where the scanner stands."""

    ambient_c: Annotated[
        float, Field(ge=-10, le=50, allow_inf_nan=False), Words("Temperature of the room")
    ] = Field(default=22.0, description="Temperature of the room.")
    humidity_percent: Annotated[
        float,
        Field(ge=5, le=95, allow_inf_nan=False),
        Words(
            "Relative humidity of the room",
            help="The warm bed is drier than the room, and film curls as it dries.",
        ),
    ] = Field(default=50.0, description="Relative humidity of the room, %; the warm bed is drier.")
    scan_when: Annotated[
        Literal["any", "cold", "warm"],
        Words(
            "When the film is scanned",
            choices={
                "any": "at any time",
                "cold": "at once, before the bed is warm",
                "warm": "when bed and film have warmed up",
            },
        ),
    ] = Field(
        default="any",
        description='When a film is scanned: "cold": at once, before the bed is warm; "warm": when bed and film have '
        'warmed up; "any": anywhere between.',
    )
    scan_ppi: Annotated[
        Annotated[float, Field(ge=50, le=50000, allow_inf_nan=False)] | None,
        Words(
            "Resolution that I scan at",
            help="Pixels per inch. Crop boxes are given in pixels for it. Left empty: what the measurement advises, "
            "else 2400.",
        ),
    ] = Field(
        default=None,
        description="Pixels per inch that you scan at: crop boxes are given in pixels for it. Left out: the setting "
        "worth taking by `bed.useful_ppi`, else 2400.",
    )
