"""Tables of what holds the film: lip, feet, lid, cover, carrier, channel."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.preset.tables.base import EdgeName, Length, SmallLength, Table
from holders.preset.words import Words


class Lip(Table):
    """How far the ledge reaches under the film on each edge; an edge left out takes ``all_mm``."""

    all_mm: Annotated[
        SmallLength | None,
        Words(
            "Lip on every edge",
            help="How far the ledge reaches under the film. Left open: 2 mm, or less where the clear border is "
            "narrower, but never less than the film's cutting tolerance asks.",
            asked=("extras", 2),
        ),
    ] = Field(
        default=None,
        description="The lip on every edge that is not given below. Left out: 2 mm, or the clear border if that is "
        "less, but never less than the film's tolerance asks.",
    )
    left_mm: Annotated[SmallLength | None, Words("Lip, left")] = Field(
        default=None, description="Lip at the left edge."
    )
    right_mm: Annotated[SmallLength | None, Words("Lip, right")] = Field(
        default=None, description="Lip at the right edge."
    )
    head_mm: Annotated[SmallLength | None, Words("Lip, head")] = Field(
        default=None, description="Lip at the head, the edge away from home."
    )
    foot_mm: Annotated[SmallLength | None, Words("Lip, foot")] = Field(
        default=None, description="Lip at the foot, the edge toward home."
    )
    rebate_edge: Annotated[
        EdgeName | None, Words("Edge that shows clear film border", asked=("extras", 3))
    ] = Field(
        default=None, description="The edge that leaves clear film border visible, for colour inversion."
    )
    rebate_mm: Annotated[SmallLength, Words("Clear border shown", asked=("extras", 4))] = Field(
        default=2.0, description="How much clear border that edge leaves visible."
    )


class Feet(Table):
    """Anti-slip feet under the holder. Leave the table out for none."""

    count: Annotated[int, Field(ge=3, le=8), Words("How many feet")] = Field(
        default=4, description="How many feet."
    )
    diameter_mm: Annotated[float, Field(ge=2, le=30, allow_inf_nan=False)] = Field(
        default=8.0, description="Diameter of one foot."
    )
    thickness_mm: Annotated[float, Field(ge=0.1, le=10, allow_inf_nan=False)] = Field(
        default=1.5, description="Thickness of one foot, measured."
    )
    recess_mm: Annotated[SmallLength | None, Words("Set into the underside by")] = Field(
        default=None,
        description="How deep each foot sits in the underside; the rest adds height. Left out: 1 mm printed, 0 cut.",
    )


class Lid(Table):
    """A frame that drops in on top of the film. Leave the table out for none."""

    thickness_mm: Annotated[float, Field(ge=0.4, le=20, allow_inf_nan=False)] = Field(
        default=2.0, description="Thickness of the lid frame (print); laser and knife take the nearest sheet."
    )
    lip_mm: Annotated[SmallLength, Words("Lid reaches in over the film by")] = Field(
        default=2.0, description="How far the lid reaches in over the film."
    )
    play_mm: Annotated[SmallLength, Words("Room between film and lid")] = Field(
        default=0.2, description="Room between film and lid where the lid rests on a shoulder (print)."
    )
    clearance_mm: Annotated[SmallLength, Words("Gap round the lid")] = Field(
        default=0.3, description="Gap between the lid and its pocket, each side."
    )
    tabs: Annotated[int, Field(ge=0, le=2), Words("Lift tabs")] = Field(default=2, description="Lift tabs.")
    magnets: Annotated[int, Field(ge=0, le=4), Words("Magnets")] = Field(
        default=0, description="Magnet pockets in frame and lid (print)."
    )
    magnet_diameter_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False)] = Field(
        default=4.0, description="Diameter of one magnet."
    )
    magnet_thickness_mm: Annotated[float, Field(ge=0.5, le=10, allow_inf_nan=False)] = Field(
        default=1.0, description="Thickness of one magnet."
    )
    extra_weight_n: Annotated[
        float, Field(ge=0, le=50, allow_inf_nan=False), Words("Presses on the lid besides, N")
    ] = Field(
        default=0.0,
        description="What else presses on each lid during the scan, N (100 g are 1 N): a weight, the scanner's lid if "
        "it reaches down to it.",
    )


class Cover(Table):
    """A plate of glass that lies on the film in a pocket above it. Leave the table out for none."""

    thickness_mm: Annotated[float, Field(ge=0.7, le=10, allow_inf_nan=False), Words("Plate, thickness")] = (
        Field(default=2.0, description="Thickness of the glass, measured.")
    )
    width_mm: Annotated[Length | None, Words("Plate, width")] = Field(
        default=None,
        description="Size of the plate along the film's width, measured; left out: as large as the pocket takes.",
    )
    length_mm: Annotated[Length | None, Words("Plate, length")] = Field(
        default=None, description="Size of the plate along the film's length, measured; left out: the same."
    )
    clearance_mm: Annotated[SmallLength, Words("Gap round the plate")] = Field(
        default=0.5,
        description="Gap between the plate and its pocket, each side; glass is cut to about 0.5 mm.",
    )
    face: Annotated[
        Literal["etched", "coated", "plain"],
        Words(
            "Face that lies on the film",
            choices={
                "etched": "finely etched: no Newton's rings",
                "coated": "coated against reflection",
                "plain": "plain",
            },
        ),
    ] = Field(
        default="etched",
        description="The face that lies on the film: finely etched (no Newton's rings), coated against reflection, "
        "or plain.",
    )
    gap_mm: Annotated[SmallLength, Words("Room between plate and buttons")] = Field(
        default=0.2,
        description="Least room between the plate and the turn buttons over it, so that none presses on it.",
    )
    buttons: Annotated[Annotated[int, Field(ge=0, le=8)] | None, Words("Turn buttons for each plate")] = (
        Field(
            default=None,
            description="Turn buttons that keep each plate in its pocket, screwed to the frame beside it; left out: 4 "
            "printed or cut by laser, none cut by hand.",
        )
    )
    button_thickness_mm: Annotated[
        float, Field(ge=0.8, le=6, allow_inf_nan=False), Words("Button, thickness")
    ] = Field(default=2.0, description="Thickness of a turn button (print); laser takes the nearest sheet.")
    screw: Literal["M2", "M2.5", "M3"] = Field(
        default="M3",
        description="Pan head screw that holds each button; it cuts its own thread in the frame.",
    )


class CarrierTable(Table):
    """A carrier as large as the bed that takes small inserts, one for each format. Leave the table out for none."""

    insert_width_mm: Annotated[float, Field(ge=40, le=600, allow_inf_nan=False), Words("Insert, width")] = (
        Field(description="Width of the insert across the bed; all inserts of a carrier share it.")
    )
    insert_length_mm: Annotated[float, Field(ge=40, le=600, allow_inf_nan=False), Words("Insert, length")] = (
        Field(description="Length of the insert along the bed; all inserts of a carrier share it.")
    )
    clearance_mm: Annotated[
        float, Field(ge=0.05, le=2, allow_inf_nan=False), Words("Gap round the insert")
    ] = Field(default=0.25, description="Gap between insert and carrier, each side.")
    ledge_mm: Annotated[
        float, Field(ge=2, le=20, allow_inf_nan=False), Words("Carrier reaches under the insert by")
    ] = Field(default=4.0, description="How far the carrier reaches under the insert, each side.")
    floor_mm: Annotated[
        float, Field(ge=0.4, le=10, allow_inf_nan=False), Words("Carrier below the insert")
    ] = Field(default=1.0, description="Thickness of the carrier below the insert; in whole printer layers.")
    key_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False), Words("Slanted corner")] = Field(
        default=6.0,
        description="How much of the insert's home corner is slanted off, so that it goes in one way only.",
    )


class ChannelTable(Table):
    """Rails that hold a strip on a gentle arc across its width (print, with a lid). Leave the table out for none."""

    radius_mm: Annotated[float, Field(ge=60, le=2000, allow_inf_nan=False), Words("Radius of the arc")] = (
        Field(
            default=200.0,
            description="Radius of the arc across the strip; about that of the strip's own curl.",
        )
    )
    rail_mm: Annotated[float, Field(ge=0.4, le=5, allow_inf_nan=False), Words("Width of the rail")] = Field(
        default=1.0, description="Width of the rail beside the window, on whose outer corner the film lies."
    )
