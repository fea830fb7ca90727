"""What a row of each trade table holds. The numbers live in ``data/*.toml``, each with its source."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, field_serializer, model_validator

from holders.facts.sources import Source, Status, filled

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]

Route = Literal["print", "laser", "knife"]
FinishKey = Literal["matt-black", "black", "dark", "light", "clear"]


MOST_KERF_MM = 1.0  # five times a usual kerf: more is a slip of the pen


class Fact(BaseModel):
    """A row of a trade table: a key to name it by, a name to read, and where each number comes from.

    ``sources`` has one entry for every number; ``status`` is the weakest of them, ``source`` all of them in words.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str = Field(pattern=r"^[a-z0-9][a-z0-9.x-]*$", max_length=40)
    name: str
    source: str = Field(min_length=3)
    status: Status
    sources: tuple[Source, ...] = ()
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _every_number_has_a_source(cls, row: Any) -> Any:
        return filled(row, cls.model_fields) if isinstance(row, dict) else row

    @field_serializer("sources")
    def _by_value(self, sources: tuple[Source, ...]) -> dict[str, dict[str, str]]:
        return {s.value: {"status": s.status, "source": s.text} for s in sources}

    def source_of(self, value: str) -> Source:
        """Where one value comes from. Raises ``KeyError`` for a value without a source of its own."""
        for source in self.sources:
            if source.value == value:
                return source
        raise KeyError(value)

    def measured(self, **values: Any) -> Self:
        """The row with values measured by whoever uses it in place of its own; bounds are checked again."""
        kept = tuple(s for s in self.sources if s.value not in values)
        own = tuple(Source(value=key, status="measured", text="set by you") for key in values)
        row = {**self.model_dump(exclude_unset=True, exclude={"sources", "source", "status"}), **values}
        return type(self).model_validate({**row, "sources": kept + own})


class Number(Fact):
    """One number with its unit: a habit of the workshop, a physical constant, a property of gelatin."""

    value: Finite
    unit: str


class FilmFormat(Fact):
    """A film as cut: width is across (short side of a sheet, film width of a strip), height along.

    ``image_*`` is the picture of one frame. A strip (``frame_pitch_mm`` set) holds ``frames`` of them, and
    its ``cut_height_mm`` is ``frames * frame_pitch_mm``. ``thickness_mm`` is the whole film's, emulsion
    included (the mount's for a mounted slide, the glass for a plate). ``plane_offset_mm`` is how high the
    film's own plane lies above what rests on the ledge (half a slide mount, else 0). ``perforation_*`` say where
    the holes along both long edges lie.
    """

    kind: Literal["sheet", "roll", "35mm", "small", "mount", "plate"]
    cut_width_mm: Positive = Field(
        description="width of the film as cut (short side of a sheet, across a strip)"
    )
    cut_height_mm: Positive = Field(description="length of the film as cut")
    tolerance_mm: NotNegative = Field(
        description="how much either cut size may differ from film to film (plus or minus)"
    )
    image_width_mm: Positive = Field(description="width of the picture of one frame")
    image_height_mm: Positive = Field(description="length of the picture of one frame")
    base: str
    thickness_mm: Positive = Field(description="thickness of the film (of the mount, for a mount)")
    frames: int = Field(default=1, ge=1, le=24, description="frames on a strip")
    frame_pitch_mm: Positive | None = Field(
        default=None, description="from the start of one frame to the start of the next"
    )
    perforation_edge_mm: NotNegative = Field(
        default=0.0, description="from either long edge of the film to its perforations"
    )
    perforation_width_mm: NotNegative = Field(
        default=0.0, description="width of a perforation across the film (0: the film has none)"
    )
    plane_offset_mm: NotNegative = Field(
        default=0.0,
        description="how high the film lies inside its mount, from the face that lies on the ledge (0 for bare film; a "
        "mount whose thickness alone is given: midway)",
    )


class FilmBase(Fact):
    """What film is made of. ``*_low`` and ``*_high`` bound the sensible range; the plain value is usual."""

    thickness_mm: Positive = Field(description="thickness of the base, usual")
    thickness_low_mm: Positive = Field(description="thickness of the base, least")
    thickness_high_mm: Positive = Field(description="thickness of the base, most")
    modulus_mpa: Positive = Field(description="Young's modulus, usual")
    modulus_low_mpa: Positive = Field(description="Young's modulus, least")
    modulus_high_mpa: Positive = Field(description="Young's modulus, most")
    poisson: Annotated[float, Field(ge=0, lt=0.5)] = Field(description="Poisson's ratio")
    density_kg_m3: Positive = Field(description="density")
    refractive_index: Annotated[float, Field(ge=1, le=3)] = Field(description="refractive index")
    curl_low_per_m: Finite = Field(description="curl, least (toward the emulsion is positive)")
    curl_per_m: Finite = Field(description="curl, usual (1 over the radius in metres)")
    curl_high_per_m: Finite = Field(description="curl, most")
    humidity_strain_per_rh: NotNegative = Field(description="growth per percent of relative humidity")
    expansion_per_k: NotNegative = Field(description="thermal expansion per kelvin")
    base_humidity_strain_per_rh: NotNegative = Field(
        description="growth of the base without its gelatin per percent of relative humidity"
    )
    back_coat: Literal["yes", "no", "unknown"] = (
        "unknown"  # a gelatin layer on the back, which takes curl off
    )
    nitrate: bool = False  # cellulose nitrate: catches fire and cannot be put out
    rigid: bool = False  # glass


class Material(Fact):
    """What a holder is made of."""

    routes: tuple[Route, ...]
    family: Literal["plastic", "acrylic", "wood", "board", "foam"]
    density_kg_m3: Positive = Field(description="density")
    modulus_mpa: Positive = Field(description="Young's modulus")
    poisson: Annotated[float, Field(ge=0, lt=0.5)] = Field(description="Poisson's ratio")
    expansion_per_k: NotNegative = Field(description="thermal expansion per kelvin")
    modulus_across_mpa: Positive | None = Field(
        default=None, description="Young's modulus across the grain of the faces, where it differs"
    )
    moisture_strain_per_rh: NotNegative = Field(
        default=0.0, description="growth per percent of relative humidity"
    )
    thickness_swelling_per_rh: NotNegative = Field(
        default=0.0, description="growth of the thickness per percent of relative humidity"
    )
    softening_c: Positive | None = Field(default=None, description="temperature at which it softens")
    softening_method: str = ""
    limit_c: Positive = Field(description="temperature that a part must stay below on the scanner")
    laser: Literal["allowed", "ask the operator", "forbidden", "not cut by laser"]
    laser_reason: str = ""
    chlorine: bool = False  # contains chlorine: never in a laser, whatever reason is given
    spring_strain: NotNegative = Field(
        default=0.0, description="strain that a spring of it bears again and again; 0: it makes none"
    )
    kerf_mm: NotNegative = Field(default=0.0, le=MOST_KERF_MM, description="width that the laser takes away")
    stock_mm: tuple[Positive, ...] = Field(default=(), description="nominal sheet thicknesses")
    stock_tolerance_mm: NotNegative = Field(
        default=0.0, description="how much a sheet may differ from its nominal thickness"
    )
    stock_tolerance_share: NotNegative = Field(
        default=0.0, description="the same as a share of the thickness, in addition"
    )
    thin_stock_mm: NotNegative = Field(
        default=0.0, description="nominal thickness below which sheets are less true"
    )
    thin_tolerance_share: NotNegative = Field(
        default=0.0,
        description="tolerance of those thin sheets as a share of the thickness, in place of the other",
    )
    sheet_width_mm: Positive | None = Field(default=None, description="width of a stock sheet")
    sheet_height_mm: Positive | None = Field(default=None, description="length of a stock sheet")
    min_web_mm: NotNegative = Field(
        default=0.0, description="narrowest bridge that survives cutting and handling"
    )
    glue_line_mm: NotNegative = Field(
        default=0.0, description="what one glued joint between two sheets adds to the height"
    )
    glue_spread_mm: NotNegative = Field(default=0.0, description="how far a glue line may be off")
    compressible: bool = False
    opaque: Literal["any colour", "black"] = (
        "black"  # in which colours a sheet of it lets no lamp light through
    )


class Target(Fact):
    """What is laid on a slope to measure the focus; one that ``hangs`` spans freely and sags by its weight."""

    thickness_mm: Positive = Field(description="thickness, usual")
    thickness_low_mm: Positive = Field(description="thickness, least")
    thickness_high_mm: Positive = Field(description="thickness, most")
    density_kg_m3: Positive = Field(description="density")
    modulus_mpa: Positive = Field(description="Young's modulus, usual")
    modulus_low_mpa: Positive = Field(description="Young's modulus, least")
    modulus_high_mpa: Positive = Field(description="Young's modulus, most")
    bow_mm: NotNegative = Field(description="how far its middle may bow by itself (one standard deviation)")
    hangs: bool


class Bar(Fact):
    """A steel bar that shops sell by the metre; it lies flat, so that its width is its wider side."""

    width_mm: Positive = Field(description="width")
    height_mm: Positive = Field(description="height as it lies")

    @property
    def area_mm2(self) -> float:
        """Of its section."""
        return self.width_mm * self.height_mm


class Bed(Fact):
    """A flatbed. Origin at the home corner of the glass; x across, y along the carriage's travel."""

    lamp: str = "white-led"
    glass_width_mm: Positive = Field(description="width of the glass")
    glass_length_mm: Positive = Field(description="length of the glass along the carriage's travel")
    lamp_x_mm: NotNegative = Field(description="from the glass's left edge to the lamp area")
    lamp_y_mm: NotNegative = Field(description="from the home end of the glass to the lamp area")
    lamp_width_mm: Positive = Field(description="width of the lamp area")
    lamp_length_mm: Positive = Field(description="length of the lamp area")
    calibration_x_mm: NotNegative = Field(description="from the glass's left edge to the calibration zone")
    calibration_y_mm: NotNegative = Field(
        description="from the home end of the glass to the calibration zone"
    )
    calibration_width_mm: NotNegative = Field(description="width of the calibration zone (0: none)")
    calibration_length_mm: NotNegative = Field(description="length of the calibration zone (0: none)")
    lid_room_mm: Positive = Field(description="room between the glass and the closed lamp lid")
    focus_height_mm: NotNegative = Field(description="height of best focus above the glass")
    focus_sigma_mm: NotNegative = Field(description="how uncertain that height is (one standard deviation)")
    focus_band_mm: Positive = Field(description="how far above and below it the scan is still sharp")
    lens_distance_mm: Positive = Field(description="optical distance from the glass to the lens")
    lamp_rise_k: NotNegative = Field(description="how much warmer than the room a holder gets")
    face_difference_k: NotNegative = Field(description="how much warmer its lit face is than the other")


class Printer(Fact):
    """A filament printer: its build volume and defaults."""

    build_x_mm: Positive = Field(description="build width")
    build_y_mm: Positive = Field(description="build depth")
    build_z_mm: Positive = Field(description="build height")
    margin_mm: NotNegative = Field(description="margin kept free on each side of the plate")
    nozzle_mm: Positive = Field(description="nozzle diameter")
    layer_mm: Positive = Field(ge=0.01, description="layer height")
    first_layer_mm: Positive = Field(ge=0.01, description="height of the first layer, as the slicer makes it")
    z_tolerance_mm: NotNegative = Field(description="how true a printed height comes out (plus or minus)")


class Paper(Fact):
    """A sheet of paper for templates and job sheets."""

    width_mm: Positive
    height_mm: Positive
    printer_margin_mm: NotNegative


class Lamp(Fact):
    """The light a scan is made with, as its colour channels take it in: one value per channel, red, green, blue."""

    mercury: bool = False  # a tube that holds mercury
    wavelength_nm: tuple[Positive, Positive, Positive]
    width_nm: tuple[Positive, Positive, Positive]  # full width at half maximum
    ring_contrast: Positive  # weakest ring that shows
    keep_gap_mm: Positive  # room kept between film and glass for dust and doubt, besides what rings ask for


class Finish(Fact):
    """How light or dark a holder's edges are."""

    reflectance: Annotated[float, Field(gt=0, le=1)]  # share of the light that an edge scatters back


class Hazard(Fact):
    """What can hurt someone, in the words that are printed beside it."""

    words: str = Field(min_length=20)
    distance_mm: Positive | None = None  # to be kept, where a distance is part of the advice


class Process(Fact):
    """How a route likes its shapes: walls, lands, lettering and the fittings of a holder."""

    wall_mm: Positive  # least wall that a layout plans with
    pocket_depth_mm: Positive  # usual height of the pocket wall above the ledge
    land_mm: Positive  # vertical thickness left at the window edge above a chamfer (print)
    relief_step_mm: NotNegative  # how far lower sheets stand back from the window (laser, knife)
    relief_slope: NotNegative  # chamfer: sideways per height (1 is 45 degrees)
    corner_cut_mm: (
        Positive  # the home corner is taken away so far along both edges, to tell how the holder lies
    )
    corner_form: Literal[
        "hollow", "stepped"
    ]  # by a quarter circle round the corner, or by a square, two crossing cuts
    notch_width_mm: Positive  # finger notch along the film edge
    notch_depth_mm: Positive  # finger notch, away from the film
    notch_least_mm: Positive  # a shallower one is left out
    scoop_mm: NotNegative  # how far a finger notch dips below the ledge
    shoulder_mm: NotNegative  # what a lid rests on, beside the film pocket
    outer_radius_mm: NotNegative  # corner radius of the holder
    window_radius_mm: NotNegative  # corner radius of windows
    pocket_radius_mm: NotNegative  # corner radius of pockets (film corners are nearly square)
    notch_radius_mm: NotNegative  # far corners of finger notches and of the tabs in them, at most
    letter_mm: Positive  # usual height of lettering
    letter_least_mm: Positive
    groove_width_mm: NotNegative
    groove_depth_mm: NotNegative
    calibration_clear_mm: NotNegative  # kept open around the calibration zone
    least_lip_mm: Positive  # what must stay under the film's edge
