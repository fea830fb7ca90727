"""The preset file format, version 1: tables and keys, what each means, and the bounds of each number."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Annotated, Any, Literal, Optional

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, create_model

from holders.facts.models import Bed, Fact, FilmBase, FilmFormat, Material, Printer, Route

FORMAT_VERSION = 1

Length = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
SmallLength = Annotated[float, Field(ge=0, le=50, allow_inf_nan=False)]
Price = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
Key = Annotated[str, Field(min_length=1, max_length=40)]
RecordName = Annotated[
    str, Field(min_length=6, max_length=80, pattern=r"^[A-Za-z0-9_][A-Za-z0-9_. -]*\.toml$")
]
EdgeName = Literal["left", "right", "head", "foot"]


_MEASURED = (
    "_mm",
    "_mpa",
    "_per_m",
    "_per_k",
    "_per_rh",
    "_m3",
    "_k",
    "_c",
    "poisson",
    "refractive_index",
    "frames",
)

_ROW_ONLY = (
    "stock_mm",  # a list of stock stands in its own key, sheets_mm
    "thin_stock_mm",
    "modulus_across_mpa",  # read by no model yet: a key of the preset that changes nothing would mislead
    "thickness_swelling_per_rh",
    "base_humidity_strain_per_rh",
)


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


def _choice(table: str, fact: type[Fact], doc: str, /, **more: Any) -> type[_Table]:
    """A table that names a row of facts and may override any measured value of it in place.

    The fact's own bounds hold for the override, and lengths are bounded as nothing here is longer than two metres.
    """
    fields: dict[str, Any] = dict(more)
    for field, info in fact.model_fields.items():
        if field in Fact.model_fields or field in _ROW_ONLY or not field.endswith(_MEASURED):
            continue
        bounds = [*info.metadata, Field(le=2000)] if field.endswith("_mm") else info.metadata
        kind = Annotated[info.annotation, *bounds] if bounds else info.annotation
        words = info.description or "the named row's value"
        fields[field] = (Optional[kind], Field(default=None, description=f"Measured: {words}."))  # noqa: UP045 - dynamic
    model: type[_Table] = create_model(f"{table.capitalize()}Choice", __base__=_Table, __doc__=doc, **fields)
    return model


if TYPE_CHECKING:
    # what a type checker needs to know of the tables made below

    class BedChoice(_Table):
        """The scanner."""

        name: str

    class FilmChoice(_Table):
        """The film."""

        format: str
        emulsion: Literal["down", "up"]
        record: str | None

    class BaseChoice(_Table):
        """The film's base."""

        name: str | None = None

    class MaterialChoice(_Table):
        """The material."""

        name: str
        sheets_mm: tuple[float, ...]
        sheet_prices: tuple[float, ...]
        price_per_kg: float | None

    class PrinterChoice(_Table):
        """The printer."""

        name: str = "p300"

else:
    BedChoice = _choice(
        "bed",
        Bed,
        "The scanner. Name the nearest generic bed, then override what you have measured.",
        name=(Key, Field(description="A bed from `holders list beds`.")),
    )
    FilmChoice = _choice(
        "film",
        FilmFormat,
        "The film. Name its format, then override what you have measured.",
        format=(Key, Field(description="A film format from `holders list formats`.")),
        emulsion=(
            Literal["down", "up"],
            Field(default="down", description="Which way the emulsion side faces on the glass."),
        ),
        record=(
            RecordName | None,
            Field(
                default=None,
                description="A film record in the preset's folder, as holders curl writes it: its films give the range "
                "of curl. Default: that of the base.",
            ),
        ),
    )
    BaseChoice = _choice(
        "base",
        FilmBase,
        "The film's base. Leave the table out to take the usual base of the format.",
        name=(Key | None, Field(default=None, description="A film base from `holders list bases`.")),
    )
    MaterialChoice = _choice(
        "material",
        Material,
        "What the holder is made of.",
        name=(Key, Field(description="A material from `holders list materials`.")),
        sheets_mm=(
            tuple[Annotated[float, Field(ge=0.1, le=30, allow_inf_nan=False)], ...],
            Field(
                default=(),
                max_length=12,
                strict=False,  # TOML gives a list
                description="Measured thicknesses of the sheets you have (laser and knife). Empty: the nominal ones.",
            ),
        ),
        sheet_prices=(
            tuple[Price, ...],
            Field(
                default=(),
                max_length=12,
                strict=False,
                description="What one sheet of each thickness in sheets_mm costs, in the same order, in your currency.",
            ),
        ),
        price_per_kg=(
            Price | None,
            Field(default=None, description="What a kilogram of filament costs, in your currency (print)."),
        ),
    )
    PrinterChoice = _choice(
        "printer",
        Printer,
        "The printer (route print only).",
        name=(Key, Field(default="p300", description="A printer from `holders list printers`.")),
    )


class Lip(_Table):
    """How far the ledge reaches under the film on each edge; an edge left out takes ``all_mm``."""

    all_mm: SmallLength | None = Field(
        default=None,
        description="The lip on every edge that is not given below. Left out: 2 mm, or the clear border if that is "
        "less, but never less than the film's tolerance asks.",
    )
    left_mm: SmallLength | None = Field(default=None, description="Lip at the left edge.")
    right_mm: SmallLength | None = Field(default=None, description="Lip at the right edge.")
    head_mm: SmallLength | None = Field(default=None, description="Lip at the head, the edge away from home.")
    foot_mm: SmallLength | None = Field(default=None, description="Lip at the foot, the edge toward home.")
    rebate_edge: EdgeName | None = Field(
        default=None, description="The edge that leaves clear film border visible, for colour inversion."
    )
    rebate_mm: SmallLength = Field(default=2.0, description="How much clear border that edge leaves visible.")


class Feet(_Table):
    """Anti-slip feet under the holder. Leave the table out for none."""

    count: Annotated[int, Field(ge=3, le=8)] = Field(default=4, description="How many feet.")
    diameter_mm: Annotated[float, Field(ge=2, le=30, allow_inf_nan=False)] = Field(
        default=8.0, description="Diameter of one foot."
    )
    thickness_mm: Annotated[float, Field(ge=0.1, le=10, allow_inf_nan=False)] = Field(
        default=1.5, description="Thickness of one foot, measured."
    )
    recess_mm: SmallLength | None = Field(
        default=None,
        description="How deep each foot sits in the underside; the rest adds height. Left out: 1 mm printed, 0 cut.",
    )


class Lid(_Table):
    """A frame that drops in on top of the film. Leave the table out for none."""

    thickness_mm: Annotated[float, Field(ge=0.4, le=20, allow_inf_nan=False)] = Field(
        default=2.0, description="Thickness of the lid frame (print); laser and knife take the nearest sheet."
    )
    lip_mm: SmallLength = Field(default=2.0, description="How far the lid reaches in over the film.")
    play_mm: SmallLength = Field(
        default=0.2, description="Room between film and lid where the lid rests on a shoulder (print)."
    )
    clearance_mm: SmallLength = Field(
        default=0.3, description="Gap between the lid and its pocket, each side."
    )
    tabs: Annotated[int, Field(ge=0, le=2)] = Field(default=2, description="Lift tabs.")
    magnets: Annotated[int, Field(ge=0, le=4)] = Field(
        default=0, description="Magnet pockets in frame and lid (print)."
    )
    magnet_diameter_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False)] = Field(
        default=4.0, description="Diameter of one magnet."
    )
    magnet_thickness_mm: Annotated[float, Field(ge=0.5, le=10, allow_inf_nan=False)] = Field(
        default=1.0, description="Thickness of one magnet."
    )
    extra_weight_n: Annotated[float, Field(ge=0, le=50, allow_inf_nan=False)] = Field(
        default=0.0,
        description="What else presses on each lid during the scan, N (100 g are 1 N): a weight, the scanner's lid if "
        "it reaches down to it.",
    )


class Cover(_Table):
    """A plate of glass that lies on the film in a pocket above it. Leave the table out for none."""

    thickness_mm: Annotated[float, Field(ge=0.7, le=10, allow_inf_nan=False)] = Field(
        default=2.0, description="Thickness of the glass, measured."
    )
    width_mm: Length | None = Field(
        default=None,
        description="Size of the plate along the film's width, measured; left out: as large as the pocket takes.",
    )
    length_mm: Length | None = Field(
        default=None, description="Size of the plate along the film's length, measured; left out: the same."
    )
    clearance_mm: SmallLength = Field(
        default=0.5,
        description="Gap between the plate and its pocket, each side; glass is cut to about 0.5 mm.",
    )
    face: Literal["etched", "coated", "plain"] = Field(
        default="etched",
        description="The face that lies on the film: finely etched (no Newton's rings), coated against reflection, "
        "or plain.",
    )
    gap_mm: SmallLength = Field(
        default=0.2,
        description="Least room between the plate and the turn buttons over it, so that none presses on it.",
    )
    buttons: Annotated[int, Field(ge=0, le=8)] | None = Field(
        default=None,
        description="Turn buttons that keep each plate in its pocket, screwed to the frame beside it; left out: 4 "
        "printed or cut by laser, none cut by hand.",
    )
    button_thickness_mm: Annotated[float, Field(ge=0.8, le=6, allow_inf_nan=False)] = Field(
        default=2.0, description="Thickness of a turn button (print); laser takes the nearest sheet."
    )
    screw: Literal["M2", "M2.5", "M3"] = Field(
        default="M3",
        description="Pan head screw that holds each button; it cuts its own thread in the frame.",
    )


class CarrierTable(_Table):
    """A carrier as large as the bed that takes small inserts, one for each format. Leave the table out for none."""

    insert_width_mm: Annotated[float, Field(ge=40, le=600, allow_inf_nan=False)] = Field(
        description="Width of the insert across the bed; all inserts of a carrier share it."
    )
    insert_length_mm: Annotated[float, Field(ge=40, le=600, allow_inf_nan=False)] = Field(
        description="Length of the insert along the bed; all inserts of a carrier share it."
    )
    clearance_mm: Annotated[float, Field(ge=0.05, le=2, allow_inf_nan=False)] = Field(
        default=0.25, description="Gap between insert and carrier, each side."
    )
    ledge_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False)] = Field(
        default=4.0, description="How far the carrier reaches under the insert, each side."
    )
    floor_mm: Annotated[float, Field(ge=0.4, le=10, allow_inf_nan=False)] = Field(
        default=1.0, description="Thickness of the carrier below the insert; in whole printer layers."
    )
    key_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False)] = Field(
        default=6.0,
        description="How much of the insert's home corner is slanted off, so that it goes in one way only.",
    )


class ChannelTable(_Table):
    """Rails that hold a strip on a gentle arc across its width (print, with a lid). Leave the table out for none."""

    radius_mm: Annotated[float, Field(ge=60, le=2000, allow_inf_nan=False)] = Field(
        default=200.0, description="Radius of the arc across the strip; about that of the strip's own curl."
    )
    rail_mm: Annotated[float, Field(ge=0.4, le=5, allow_inf_nan=False)] = Field(
        default=1.0, description="Width of the rail beside the window, on whose outer corner the film lies."
    )


class Layout(_Table):
    """How windows stand on the bed and how the holder fits it."""

    count: Annotated[int, Field(ge=1, le=60)] | Literal["fill"] = Field(
        default=1, description='How many films, or "fill" for as many as the lamp area takes.'
    )
    turn: Literal["auto", "never", "always"] = Field(
        default="auto", description="Whether film may lie with its long side across the bed."
    )
    slide_gap_mm: SmallLength = Field(
        default=0.5, description="Gap between the holder and the rim of the glass, each side."
    )
    outer_width_mm: Length | None = Field(default=None, description="Outer size across; left out: the glass.")
    outer_length_mm: Length | None = Field(default=None, description="Outer size along; left out: the glass.")
    wall_mm: SmallLength | None = Field(
        default=None, description="Least wall between pockets and around them; left out: by the route."
    )
    clearance_mm: SmallLength = Field(
        default=0.3,
        description="Gap between the largest film the tolerance allows and the pocket, each side.",
    )
    pocket_depth_mm: SmallLength | None = Field(
        default=None, description="Height of the pocket wall above the ledge; left out: by the route."
    )
    corner_radius_mm: SmallLength = Field(default=3.0, description="Radius of the holder's outer corners.")
    relief: Literal["auto", "none"] = Field(
        default="auto",
        description="Chamfer or step under the window edge, so that it does not shade the lens.",
    )
    finger_notches: bool = Field(default=True, description="Notches beside the film for a fingernail.")
    label: bool = Field(default=True, description="Lettering: format, height, which side up.")


class Split(_Table):
    """What becomes of a part that is too large for the printer's plate (print)."""

    mode: Literal["auto", "never"] = Field(
        default="auto",
        description='"auto": it is cut into the fewest interlocking pieces that fit; "never": it stays whole.',
    )
    fit: Literal["glue", "press"] = Field(
        default="glue",
        description="How the pieces hold together: glued on a flat plate, or pressed together without glue.",
    )
    clearance_mm: Annotated[float, Field(ge=0, le=0.5, allow_inf_nan=False)] | None = Field(
        default=None,
        description="Gap between tongue and socket, each side, as a coupon found it; left out: 0.1 glued, "
        "0.05 pressed.",
    )


Reading = Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]
Readings = Annotated[tuple[Reading, ...], Field(max_length=12, strict=False)]  # TOML gives a list


def _climbing(heights: tuple[float, ...]) -> tuple[float, ...]:
    """Heights of a stair as they were read: each step higher than the one before."""
    for low, high in itertools.pairwise(heights):
        if high <= low:
            raise ValueError(
                f"the stair climbs, so {high:g} mm cannot come after {low:g} mm: give its steps from the lowest to the "
                "highest, each measured from the plate's underside"
            )
    return heights


Engraved = Annotated[int, Field(ge=0, le=40, multiple_of=10)]


class Coupon(_Table):
    """What was read off the test piece of `holders make --coupon`; numbers stated elsewhere in the preset win."""

    holes_mm: Readings = Field(
        default=(), description="Square hole of the plate (drawn 20 mm): its sides, measured inside."
    )
    plugs_mm: Readings = Field(
        default=(), description="Loose square plug (drawn 10 mm): its sides, measured outside."
    )
    pocket: Engraved | None = Field(
        default=None, description="Number beside the tightest pocket that the plug went into by hand."
    )
    slot: Engraved | None = Field(
        default=None,
        description="Number beside the tightest slot that the tongue went into, on edge, by hand.",
    )
    tongue_mm: Reading | None = Field(default=None, description="Thickness of the tongue, measured.")
    thickness_mm: Reading | None = Field(
        default=None,
        description="Thickness engraved after the material's name; left out: as this preset's test piece is drawn.",
    )
    heights_mm: Annotated[Readings, AfterValidator(_climbing)] = Field(
        default=(), description="The three steps of the stair, lowest first, measured (print)."
    )
    glued_mm: Reading | None = Field(
        default=None,
        description="Height of sheets glued on one another, measured when set (laser and knife).",
    )
    glued_sheets_mm: Readings = Field(
        default=(), description="The thicknesses of those sheets, measured before gluing."
    )


class Room(_Table):
    """Where the scanner stands."""

    ambient_c: Annotated[float, Field(ge=-10, le=50, allow_inf_nan=False)] = Field(
        default=22.0, description="Temperature of the room."
    )


class Preset(_Table):
    """A holder as its shooter wants it: bed, film, route, material, lip, feet, lid, layout."""

    holders_preset: Annotated[int, Field(ge=1, le=FORMAT_VERSION)] = Field(
        description="Version of this file format."
    )
    title: Annotated[str, Field(min_length=1, max_length=80)] = Field(
        description="What the holder is called; its folder is named after it."
    )
    note: Annotated[str, Field(max_length=2000)] = Field(
        default="", description="Anything others should know."
    )
    route: Route = Field(description="How it is made: print, laser or knife.")
    ledge: Literal["best", "focus"] = Field(
        default="best",
        description='"best": the ledge that puts most of the sagging film in focus; "focus": at the focus height.',
    )
    paper: Key = Field(default="a4", description="Paper for templates, from `holders list papers`.")
    bed: BedChoice
    film: FilmChoice
    base: BaseChoice = Field(default_factory=BaseChoice)
    material: MaterialChoice
    printer: PrinterChoice = Field(default_factory=PrinterChoice)
    lip: Lip = Field(default_factory=Lip)
    feet: Feet | None = None
    lid: Lid | None = None
    cover: Cover | None = None
    carrier: CarrierTable | None = None
    channel: ChannelTable | None = None
    layout: Layout = Field(default_factory=Layout)
    split: Split = Field(default_factory=Split)
    coupon: Coupon = Field(default_factory=Coupon)
    room: Room = Field(default_factory=Room)
