"""Tables that name a row of facts, whose measured values a preset may override in place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, Literal, Optional

from pydantic import Field, create_model

from holders.facts.models import Bed, Fact, FilmBase, FilmFormat, FinishKey, Material, Printer
from holders.preset.tables.base import Key, Price, RecordName, Table
from holders.preset.words import Words, labelled

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

LEAST_SHEET_MM, MOST_SHEET_MM = 0.1, 30.0
MOST_KINDS = 12  # thicknesses of the sheets at hand

_ROW_ONLY = (
    "stock_mm",  # a list of stock stands in its own key, sheets_mm
    "thin_stock_mm",
    "thickness_swelling_per_rh",  # measured over a year of damp and dry days: not a key of a preset
    "base_humidity_strain_per_rh",
)


def _choice(
    table: str, fact: type[Fact], doc: str, words: Mapping[str, Words], /, **more: Any
) -> type[Table]:
    """A table that names a row of facts and may override any measured value of it in place.

    The fact's own bounds hold for the override, and lengths are bounded as nothing here is longer than two metres.
    ``words`` are those of the overrides, by key.
    """
    fields: dict[str, Any] = dict(more)
    for field, info in fact.model_fields.items():
        if field in Fact.model_fields or field in _ROW_ONLY or not field.endswith(_MEASURED):
            continue
        bounds = [*info.metadata, Field(le=2000)] if field.endswith("_mm") else info.metadata
        kind = Annotated[info.annotation, *bounds] if bounds else info.annotation
        meaning = info.description or "the named row's value"
        fields[field] = (
            labelled(Optional[kind], words.get(field)),  # noqa: UP045 - dynamic
            Field(default=None, description=f"Measured: {meaning}."),
        )
    if unknown := set(words) - set(fields):
        raise TypeError(f"{table}: words for keys that it has not: {', '.join(sorted(unknown))}")
    model: type[Table] = create_model(f"{table.capitalize()}Choice", __base__=Table, __doc__=doc, **fields)
    return model


if TYPE_CHECKING:
    # what a type checker needs to know of the tables made below

    class BedChoice(Table):
        """The scanner."""

        name: str
        lamp: str | None = None
        useful_ppi: float | None = None

    class FilmChoice(Table):
        """The film."""

        format: str
        emulsion: Literal["down", "up"]
        curl_along_per_m: float = 0.0
        record: str | None

    class BaseChoice(Table):
        """The film's base."""

        name: str | None = None
        back_coat: Literal["yes", "no", "unknown"] | None = None

    class MaterialChoice(Table):
        """The material."""

        name: str
        finish: FinishKey
        sheets_mm: tuple[float, ...]
        sheet_prices: tuple[float, ...]
        price_per_kg: float | None

    class PrinterChoice(Table):
        """The printer."""

        name: str = "p300"

else:
    BedChoice = _choice(
        "bed",
        Bed,
        "The scanner. Name the nearest generic bed, then override what you have measured.",
        {
            "focus_height_mm": Words("Sharpest height of the scanner", asked=("scanner", 2)),
            "focus_sigma_mm": Words(
                "How uncertain that height is",
                help="One standard deviation; measuring from a scan gives it.",
                asked=("scanner", 3),
            ),
            "focus_band_mm": Words("Still sharp above and below it by", asked=("scanner", 4)),
            "lamp_x_mm": Words("Lamp area starts, from the left"),
            "lamp_y_mm": Words("Lamp area starts, from the home end"),
            "lamp_width_mm": Words("Lamp area, width"),
            "lamp_length_mm": Words("Lamp area, length"),
            "calibration_x_mm": Words("Calibration zone starts, from the left"),
            "calibration_y_mm": Words("Calibration zone starts, from the home end"),
            "calibration_width_mm": Words("Calibration zone, width"),
            "calibration_length_mm": Words("Calibration zone, length"),
            "lid_room_mm": Words("Room under the lamp lid"),
            "lens_distance_mm": Words("Way of the light from glass to lens"),
            "lamp_rise_k": Words("A holder gets warmer than the room by"),
            "face_difference_k": Words("Its lit face is warmer by"),
        },
        name=(
            Annotated[
                Key, Words("Flatbed", help="The generic flatbed nearest to yours.", asked=("scanner", 1))
            ],
            Field(description="A bed from `holders list beds`."),
        ),
        lamp=(
            Annotated[
                Literal["white-led", "rgb-led", "fluorescent"] | None,
                Words(
                    "Lamp in the lid",
                    help="Decides how small a gap to the glass shows Newton's rings: 1.6, 6.7 or 25 µm.",
                    choices={
                        "white-led": "white LED",
                        "rgb-led": "red, green and blue LEDs in turn",
                        "fluorescent": "fluorescent tube",
                    },
                ),
            ],
            Field(
                default=None,
                description="The lamp in the lid: it decides how small a gap between film and glass shows Newton's "
                "rings. Default: that of the bed.",
            ),
        ),
        useful_ppi=(
            Annotated[
                float | None,
                Words(
                    "Scanning finer gains nothing from",
                    help="Pixels per inch; measuring from a scan gives it.",
                ),
            ],
            Field(
                default=None,
                ge=50,
                le=50000,
                allow_inf_nan=False,
                description="Pixels per inch beyond which a scan shows no finer detail, as `holders focus` measures "
                "it. The job sheet uses it.",
            ),
        ),
    )
    FilmChoice = _choice(
        "film",
        FilmFormat,
        "The film. Name its format, then override what you have measured.",
        {
            "tolerance_mm": Words("Cut size may differ by"),
            "frames": Words("Frames on the strip"),
            "thickness_mm": Words("Thickness of the film, the plate or the mount"),
            "plane_offset_mm": Words(
                "Height of the film inside its mount",
                help="From the face of the mount that lies on the ledge; left empty: midway. In a thick or glassless "
                "mount film often lies nearer to one face: measure an empty one.",
            ),
            "cut_height_mm": Words("Cut length"),
            "image_width_mm": Words("Picture width"),
            "image_height_mm": Words("Picture length"),
        },
        format=(
            Annotated[
                Key,
                Words(
                    "Film format",
                    help="Cut sizes come from the table; correct them below if you have measured yours.",
                    asked=("film", 1),
                ),
            ],
            Field(description="A film format from `holders list formats`."),
        ),
        emulsion=(
            Annotated[
                Literal["down", "up"],
                Words(
                    "Emulsion side faces",
                    choices={"down": "down, to the glass", "up": "up, to the lamp"},
                    asked=("film", 2),
                ),
            ],
            Field(default="down", description="Which way the emulsion side faces on the glass."),
        ),
        curl_along_per_m=(
            Annotated[
                float,
                Words(
                    "Curl along the film besides",
                    help="What a roll's core left in it: the film stood on its long side, by holders curl.",
                ),
            ],
            Field(
                default=0.0,
                ge=-100,
                le=100,
                allow_inf_nan=False,
                description="Curl along the film's length that it has besides that across it, 1 over the radius in "
                "metres, toward the emulsion positive: a roll's core leaves some.",
            ),
        ),
        record=(
            Annotated[RecordName | None, Words("Film record")],
            Field(
                default=None,
                description="A film record in the preset's folder, as holders curl writes it: its films give the range "
                "of curl across it, and the curl along it. Default: that of the base.",
            ),
        ),
    )
    BaseChoice = _choice(
        "base",
        FilmBase,
        "The film's base. Leave the table out to take the usual base of the format.",
        {
            "modulus_mpa": Words("Stiffness (Young's modulus)"),
            "modulus_low_mpa": Words("Stiffness, least"),
            "modulus_high_mpa": Words("Stiffness, most"),
            "poisson": Words("Poisson's ratio"),
            "humidity_strain_per_rh": Words("Growth per percent humidity"),
            "expansion_per_k": Words("Thermal expansion"),
            "thickness_mm": Words("Thickness, usual"),
            "thickness_low_mm": Words("Thickness, least"),
            "thickness_high_mm": Words("Thickness, most"),
            "curl_per_m": Words("Curl, usual"),
            "curl_low_per_m": Words("Curl, least"),
            "curl_high_per_m": Words("Curl, most"),
        },
        name=(
            Annotated[Key | None, Words("Film base", help="Left open: the usual one of the format.")],
            Field(default=None, description="A film base from `holders list bases`."),
        ),
        back_coat=(
            Annotated[
                Literal["yes", "no", "unknown"] | None,
                Words(
                    "Gelatin coat on the back",
                    help="Touch the clear border of a film you can spare with a damp finger, on both sides: gelatin "
                    "turns tacky, bare base stays slick.",
                    choices={"yes": "yes", "no": "no, bare base", "unknown": "not known"},
                ),
            ],
            Field(
                default=None,
                description="Whether the film's back has a gelatin coat, which takes off most of the curl that dry "
                "air brings: a damp finger on the clear border of a film you can spare turns gelatin tacky. "
                "Default: that of the base.",
            ),
        ),
    )
    MaterialChoice = _choice(
        "material",
        Material,
        "What the holder is made of.",
        {
            "modulus_mpa": Words("Stiffness (Young's modulus)"),
            "modulus_across_mpa": Words("Stiffness across the grain"),
            "poisson": Words("Poisson's ratio"),
            "expansion_per_k": Words("Thermal expansion"),
            "moisture_strain_per_rh": Words("Growth per percent humidity"),
            "softening_c": Words("Softens at"),
            "limit_c": Words("Must stay below"),
            "kerf_mm": Words("Width of the laser's cut (kerf)"),
            "min_web_mm": Words("Narrowest bridge"),
        },
        name=(
            Annotated[
                Key, Words("Material", help="Only what can be made that way is offered.", asked=("making", 2))
            ],
            Field(description="A material from `holders list materials`."),
        ),
        finish=(
            Annotated[
                FinishKey,
                Words(
                    "Colour of the material",
                    help="Every edge near the film should be matt black: what shines there veils the dark parts.",
                    choices={
                        "matt-black": "matt black, opaque",
                        "black": "black with a shine",
                        "dark": "dark grey or brown, charred",
                        "light": "white, pale wood, light",
                        "clear": "clear or translucent",
                    },
                ),
            ],
            Field(
                default="matt-black",
                description="How light or dark the edges near the film are once the holder is finished.",
            ),
        ),
        sheets_mm=(
            Annotated[
                tuple[Annotated[float, Field(ge=LEAST_SHEET_MM, le=MOST_SHEET_MM, allow_inf_nan=False)], ...],
                Words("Sheets I have, measured", asked=("making", 3)),
            ],
            Field(
                default=(),
                max_length=MOST_KINDS,
                strict=False,  # TOML gives a list
                description="Measured thicknesses of the sheets you have (laser and knife). Empty: the nominal ones.",
            ),
        ),
        sheet_prices=(
            Annotated[tuple[Price, ...], Words("What each of them costs")],
            Field(
                default=(),
                max_length=12,
                strict=False,
                description="What one sheet of each thickness in sheets_mm costs, in the same order, in your currency.",
            ),
        ),
        price_per_kg=(
            Annotated[Price | None, Words("What a kilogram of filament costs")],
            Field(default=None, description="What a kilogram of filament costs, in your currency (print)."),
        ),
    )
    PrinterChoice = _choice(
        "printer",
        Printer,
        "The printer (route print only).",
        {
            "z_tolerance_mm": Words("Printed heights are true to"),
            "build_x_mm": Words("Plate, width"),
            "build_y_mm": Words("Plate, depth"),
            "build_z_mm": Words("Build height"),
            "margin_mm": Words("Margin on the plate"),
            "nozzle_mm": Words("Nozzle"),
            "layer_mm": Words("Layer height"),
            "first_layer_mm": Words("Height of the first layer"),
        },
        name=(
            Annotated[
                Key,
                Words(
                    "Printer", help="The one whose plate is nearest to yours in size.", asked=("making", 4)
                ),
            ],
            Field(default="p300", description="A printer from `holders list printers`."),
        ),
    )
