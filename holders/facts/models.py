"""What a row of each trade table holds. The numbers themselves live in ``data/*.toml``, each with its source."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]

Route = Literal["print", "laser", "knife"]
Status = Literal[
    "read",  # seen in the named source
    "read second-hand",  # seen in a quotation or copy of the named source
    "from memory",  # known, not looked up
    "common practice, no source",
    "computed",  # worked out by arithmetic from other rows
    "invented",  # a generic stand-in of ours, to be overridden by a measured value
]


class Fact(BaseModel):
    """A row of a trade table: a key to name it by, a name to read, and where the numbers come from."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str = Field(pattern=r"^[a-z0-9][a-z0-9.x-]*$", max_length=40)
    name: str
    source: str = Field(min_length=3)
    status: Status
    note: str = ""


class FilmFormat(Fact):
    """A film as cut: width is across (short side of a sheet, film width of a strip), height along.

    ``image_*`` is the picture of one frame. A strip (``frame_pitch_mm`` set) holds ``frames`` of them, so its length
    is ``frames * frame_pitch_mm``; ``cut_height_mm`` is then the length of one frame's pitch times ``frames``.
    ``plane_offset_mm`` is how high the film's own plane lies above what rests on the ledge (half a slide mount, else 0).
    """

    kind: Literal["sheet", "roll", "35mm", "small", "mount", "plate"]
    cut_width_mm: Positive
    cut_height_mm: Positive
    tolerance_mm: NotNegative
    image_width_mm: Positive
    image_height_mm: Positive
    base: str
    thickness_mm: Positive
    frames: int = Field(default=1, ge=1, le=24)
    frame_pitch_mm: Positive | None = None
    plane_offset_mm: NotNegative = 0.0


class FilmBase(Fact):
    """What film is made of. ``*_low``/``*_high`` bound the sensible range; the plain value is the usual one."""

    thickness_mm: Positive
    thickness_low_mm: Positive
    thickness_high_mm: Positive
    modulus_mpa: Positive
    modulus_low_mpa: Positive
    modulus_high_mpa: Positive
    poisson: Annotated[float, Field(ge=0, lt=0.5)]
    density_kg_m3: Positive
    refractive_index: Annotated[float, Field(ge=1, le=3)]
    curl_low_per_m: Finite  # toward the emulsion is positive
    curl_per_m: Finite
    curl_high_per_m: Finite
    humidity_strain_per_rh: NotNegative  # strain per % relative humidity
    expansion_per_k: NotNegative
    rigid: bool = False  # glass


class Material(Fact):
    """What a holder is made of."""

    routes: tuple[Route, ...]
    family: Literal["plastic", "acrylic", "wood", "board", "foam"]
    density_kg_m3: Positive
    modulus_mpa: Positive
    poisson: Annotated[float, Field(ge=0, lt=0.5)]
    expansion_per_k: NotNegative
    moisture_strain_per_rh: NotNegative = 0.0
    softening_c: Positive | None = None  # None: does not soften below charring
    softening_method: str = ""
    limit_c: Positive  # a part must stay below this on the scanner
    laser: Literal["allowed", "ask the operator", "forbidden", "not cut by laser"]
    laser_reason: str = ""
    chlorine: bool = False  # contains chlorine: never in a laser
    kerf_mm: NotNegative = 0.0
    stock_mm: tuple[Positive, ...] = ()
    stock_tolerance_mm: NotNegative = 0.0
    stock_tolerance_share: NotNegative = 0.0  # in addition, a share of the thickness
    sheet_width_mm: Positive | None = None
    sheet_height_mm: Positive | None = None
    min_web_mm: NotNegative = 0.0  # least bridge that survives cutting and handling
    compressible: bool = False


class Bed(Fact):
    """A flatbed. Origin at the home corner of the glass; x across, y along the carriage's travel away from home."""

    glass_width_mm: Positive
    glass_length_mm: Positive
    lamp_x_mm: NotNegative
    lamp_y_mm: NotNegative
    lamp_width_mm: Positive
    lamp_length_mm: Positive
    calibration_x_mm: NotNegative
    calibration_y_mm: NotNegative
    calibration_width_mm: NotNegative
    calibration_length_mm: NotNegative
    lid_room_mm: Positive  # between glass and closed lamp lid
    focus_height_mm: NotNegative
    focus_sigma_mm: NotNegative
    focus_band_mm: Positive  # half width: heights within focus_height ± this are sharp
    lens_distance_mm: Positive  # optical path from the glass to the lens, centred on the glass width
    lamp_rise_k: NotNegative  # how much warmer than the room the lit side gets
    face_difference_k: NotNegative  # between a holder's warm and cool face


class Printer(Fact):
    """A filament printer: its build volume and defaults."""

    build_x_mm: Positive
    build_y_mm: Positive
    build_z_mm: Positive
    margin_mm: NotNegative
    nozzle_mm: Positive
    layer_mm: Positive
    z_tolerance_mm: NotNegative


class Paper(Fact):
    """A sheet of paper for templates and job sheets."""

    width_mm: Positive
    height_mm: Positive
    printer_margin_mm: NotNegative


class Process(Fact):
    """How a route likes its shapes: walls, lands, lettering and the fittings of a holder."""

    wall_mm: Positive  # least wall that a layout plans with
    land_mm: Positive  # vertical thickness left at the window edge above a chamfer (print)
    relief_step_mm: NotNegative  # how far lower sheets stand back from the window (laser, knife)
    relief_slope: NotNegative  # chamfer: sideways per height (1 is 45 degrees)
    corner_cut_mm: Positive  # the orientation notch: the home corner, cut off
    notch_width_mm: Positive  # finger notch along the film edge
    notch_depth_mm: Positive  # finger notch, away from the film
    notch_least_mm: Positive  # a shallower one is left out
    scoop_mm: NotNegative  # how far a finger notch dips below the ledge
    shoulder_mm: NotNegative  # what a lid rests on, beside the film pocket
    window_radius_mm: NotNegative  # corner radius of windows
    pocket_radius_mm: NotNegative  # corner radius of pockets (film corners are nearly square)
    letter_mm: Positive  # usual height of lettering
    letter_least_mm: Positive
    groove_width_mm: NotNegative
    groove_depth_mm: NotNegative
    calibration_clear_mm: NotNegative  # kept open around the calibration zone
    least_lip_mm: Positive  # what must stay under the film's edge
