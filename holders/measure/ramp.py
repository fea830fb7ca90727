"""The focus ramp's shape as plain numbers: a target on a known slope, and marks beside it that tell where it is.

Ramp coordinates: x along the slope, y across, z up from the glass; the origin at the corner of the low end, seen
from above. The target (a transparent ruler or a strip of developed film) lies on a *ledge* along either edge. Its
underside climbs from ``low_mm`` at ``slope_start_mm`` to ``high_mm`` at ``slope_end_mm``. The ledges are stairs of one
printing layer whose low-side corners lie on that line: a target laid on them touches those corners only, so that a
printer's layers do no harm to the height.

Beside the window, on either side, runs a thin plate with slots through it, one every ``MARK_PITCH_MM``, narrow (0) or
wide (1): the near one lies on the glass, the far one is raised and its slots are longer, which tells them apart. The
slots' row is a word in which every run of seven is found once only, read forwards or backwards: seven slots in a row
tell where on the ramp one is and which way it lies. A mirrored scan turns the word's direction or the side that the
track is on, never the slots themselves. A lens sees the raised row smaller than the one on the glass: that tells its
distance. The bay is open at both ends, so that a ruler longer than the ramp lies in it. (Version 1, still read, had
the near row only.)
"""

from __future__ import annotations

import math
import os
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from holders.core.errors import InputError
from holders.measure.files import unreadable

WORD = "00000010010101100101101110011000101110"
WORD_RUN = 7
MARK_PITCH_MM = 4.0
NARROW_MM, WIDE_MM = 1.2, 2.6
FIRST_MARK_MM = 9.0
SLOT_LENGTH_MM, FAR_SLOT_MM = 6.0, 8.0
MAX_LENGTH_MM, MAX_HIGH_MM = 170.0, 10.0
WHICH = "give the ramp.json that `holders ramp` writes beside the ramp's files"
MAX_BYTES = 65536
THIN_MM, TIP_MM = (
    0.8,
    0.5,
)  # least height of a rail on the slope, and at its tip: thinner sheet breaks as it is cut
END_MM = 1.0  # from the ramp's ends to the first and last place that carries the target
LEAST_REST_MM = 2.0  # of a target's edge on a ledge; judgement
LEAST_CLIMB_MM = 1.0
SILL_MM = 0.4  # of the tie that joins both sides at the low end, under the target: two layers; judgement
SILL_AIR_MM = 0.1
FAR_ABOVE_MM = 5.0  # the raised row lies at least so high above the near one
# of the frame that holds the target down: under one of 5 mm strongly curled film (10 per m) would lift by 0.1 mm
# between its ends, four times as much as under one of 8 mm (a bar under an even load, computed)
LEAST_FRAME_MM = 5.0


class Box(BaseModel):
    """A rectangle in ramp coordinates, mm."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    x0: float
    y0: float
    x1: float
    y1: float


class Mark(BaseModel):
    """A slot through the floor: its rectangle, number, bit, and the target's height at its middle (mm)."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    index: int
    bit: int
    box: Box
    height_mm: float


class RampGeometry(BaseModel):
    """A focus ramp. All lengths in mm, ramp coordinates. Save it as JSON beside the printed file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    kind: str = Field(default="focus ramp", pattern="^focus ramp$")
    version: int = Field(default=2, ge=1, le=2)
    length_mm: float = Field(default=166.0, ge=60.0, le=MAX_LENGTH_MM, allow_inf_nan=False)
    low_mm: float = Field(default=0.8, ge=0.0, le=MAX_HIGH_MM, allow_inf_nan=False)
    high_mm: float = Field(default=6.0, gt=0.0, le=MAX_HIGH_MM, allow_inf_nan=False)
    slope_start_mm: float = Field(default=7.0, ge=2.0, allow_inf_nan=False)
    slope_end_mm: float = Field(default=159.0, allow_inf_nan=False)
    target_width_mm: float = Field(default=35.0, ge=10.0, le=80.0, allow_inf_nan=False)
    target_clearance_mm: float = Field(default=0.3, ge=0.0, le=2.0, allow_inf_nan=False)
    ledge_mm: float = Field(default=5.0, ge=1.5, le=10.0, allow_inf_nan=False)
    wall_mm: float = Field(default=2.4, ge=0.8, le=8.0, allow_inf_nan=False)
    track_mm: float = Field(default=9.0, ge=SLOT_LENGTH_MM + 2.0, le=20.0, allow_inf_nan=False)
    floor_mm: float = Field(default=1.0, ge=0.4, le=12.0, allow_inf_nan=False)
    far_mm: float = Field(default=6.0, ge=0.0, le=25.0, allow_inf_nan=False)
    frame_mm: float = Field(default=8.0, ge=LEAST_FRAME_MM, le=12.0, allow_inf_nan=False)
    layer_mm: float = Field(default=0.1, ge=0.04, le=0.4, allow_inf_nan=False)
    target_offset_mm: float = Field(default=0.0, ge=-1.0, le=5.0, allow_inf_nan=False)

    @model_validator(mode="after")
    def _whole(self) -> RampGeometry:
        if self.high_mm - self.low_mm < 0.5:
            raise ValueError("the ramp must climb by half a millimetre or more")
        if self.version > 1 and self.track_mm < FAR_SLOT_MM + 1.0:
            raise ValueError(f"the tracks must be {FAR_SLOT_MM + 1.0:g} mm wide or more")
        if not self.slope_start_mm + 40.0 <= self.slope_end_mm <= self.length_mm - 2.0:
            raise ValueError("the slope must be 40 mm long or more and end inside the ramp")
        return self

    @property
    def slope(self) -> float:
        """Climb in mm per mm."""
        return (self.high_mm - self.low_mm) / (self.slope_end_mm - self.slope_start_mm)

    @property
    def track(self) -> Box:
        """The floor that the slots go through."""
        return Box(x0=0.0, y0=self.wall_mm, x1=self.length_mm, y1=self.wall_mm + self.track_mm)

    @property
    def two_rows(self) -> bool:
        """Whether marks run on both sides."""
        return self.version > 1

    @property
    def far_track(self) -> Box:
        """The raised plate beyond the bay; its underside is ``far_mm`` above the glass."""
        y0 = self.bay.y1 + self.wall_mm
        return Box(x0=0.0, y0=y0, x1=self.length_mm, y1=y0 + self.track_mm)

    def mark_height_mm(self, *, far: bool) -> float:
        """Height of the middle of a row's plate: where its slots are seen, both their edges being in the way alike."""
        return (self.far_mm if far else 0.0) + 0.5 * self.floor_mm

    @property
    def sill_mm(self) -> float:
        """Thickness of the tie at the low end, under the target; 0: it would be in the way, so there is none."""
        room = self.low_mm - self.slope * self.slope_start_mm - SILL_AIR_MM
        return SILL_MM if room >= SILL_MM else 0.0

    @property
    def bay(self) -> Box:
        """Where the target lies: between the side walls, open at both ends for rulers longer than the ramp."""
        y0 = self.track.y1 + self.wall_mm
        return Box(
            x0=0.0 if self.two_rows else self.wall_mm, y0=y0, x1=self.length_mm,
            y1=y0 + self.target_width_mm + 2.0 * self.target_clearance_mm,
        )  # fmt: skip

    @property
    def window(self) -> Box:
        """The opening that light passes through the target."""
        bay = self.bay
        return Box(
            x0=self.slope_start_mm, y0=bay.y0 + self.ledge_mm, x1=self.slope_end_mm, y1=bay.y1 - self.ledge_mm
        )

    @property
    def width_mm(self) -> float:
        """Size across, outer walls included."""
        return (self.far_track.y1 if self.two_rows else self.bay.y1) + self.wall_mm

    @property
    def wall_height_mm(self) -> float:
        """Height of the walls that keep the target from sliding off sideways."""
        return self.high_mm + 2.0

    def height_of_line(self, x_mm: float) -> float:
        """Height of the target's underside above the glass at x."""
        return self.low_mm + self.slope * (x_mm - self.slope_start_mm)

    def height_at(self, x_mm: float) -> float:
        """Height of the target's sharp side above the glass at x."""
        return self.height_of_line(x_mm) + self.target_offset_mm

    def marks(self, *, far: bool = False) -> tuple[Mark, ...]:
        """The slots of the near or far row, from the low end up, as far as the slope goes."""
        track, long = (self.far_track, FAR_SLOT_MM) if far else (self.track, SLOT_LENGTH_MM)
        middle = 0.5 * (track.y0 + track.y1)
        made = []
        for i, letter in enumerate(WORD):
            x = FIRST_MARK_MM + i * MARK_PITCH_MM
            if x + WIDE_MM > self.length_mm - self.wall_mm:
                break
            half = 0.5 * (WIDE_MM if letter == "1" else NARROW_MM)
            box = Box(x0=x - half, y0=middle - long / 2, x1=x + half, y1=middle + long / 2)
            made.append(Mark(index=i, bit=int(letter), box=box, height_mm=self.height_at(x)))
        return tuple(made)

    def stairs(self) -> tuple[tuple[float, float, float], ...]:
        """Steps of either ledge: (x from, x to, top z). Their low-side corners lie on the slope, drawn on to both ends.

        The ends carry the target where a frame is pulled down on it, so that it does not bow up between.
        """
        low = self.height_of_line(self.bay.x0 + END_MM)
        first = max(
            1, math.ceil(low / self.layer_mm - 1e-6), math.floor(self.sill_mm / self.layer_mm + 1e-6) + 1
        )
        last = math.floor(self.height_of_line(self.length_mm - END_MM) / self.layer_mm + 1e-6)
        tops = [
            (self.slope_start_mm + (k * self.layer_mm - self.low_mm) / self.slope, k * self.layer_mm)
            for k in range(first, last + 1)
        ]
        ends = [x for x, _ in tops[1:]] + [self.bay.x1]
        return tuple((x, end, z) for (x, z), end in zip(tops, ends, strict=True))

    def ledges(self) -> tuple[Box, Box]:
        """Plan of the two ledges that the stairs stand on."""
        bay, window = self.bay, self.window
        return (
            Box(x0=bay.x0, y0=bay.y0, x1=bay.x1, y1=window.y0),
            Box(x0=bay.x0, y0=window.y1, x1=bay.x1, y1=bay.y1),
        )

    def from_sheet(self, sheet_mm: float) -> RampGeometry:
        """The ramp that is cut from sheet of this thickness: its rails stand on a base of the same sheet.

        The target's line begins where a rail of ``THIN_MM`` on the base has its top; all heights count from the glass.

        Raises
        ------
        InputError
            The sheet is too thick to leave a slope.
        """
        low = max(self.low_mm, sheet_mm + THIN_MM)
        if not 0.5 <= sheet_mm <= self.ledge_mm or self.high_mm - low < LEAST_CLIMB_MM:
            raise InputError(
                "sheet_mm", sheet_mm, f"give the measured thickness of sheet from 0.5 to {self.ledge_mm:g} mm, which "
                f"leaves a slope of {LEAST_CLIMB_MM:g} mm below the high end at {self.high_mm:g} mm"
            )  # fmt: skip
        raised = sheet_mm * (1 + self.spacers(sheet_mm))
        return self.model_copy(
            update={"low_mm": round(low, 3), "floor_mm": sheet_mm, "far_mm": round(raised, 3)}
        )

    @staticmethod
    def spacers(sheet_mm: float) -> int:
        """How many layers of the same sheet lie between the base and the raised plate."""
        return max(1, math.ceil(FAR_ABOVE_MM / sheet_mm - 1.0))

    def wedge_profile(self, base_mm: float) -> tuple[tuple[float, float], ...]:
        """Outline (x, z above the base) of a rail that stands on edge on a base ``base_mm`` thick.

        Its top is the slope, drawn on to the ramp's high end and toward the low one as far as a rail is not too thin.
        """
        x0 = max(END_MM, self.slope_start_mm - (self.low_mm - base_mm - TIP_MM) / self.slope)
        foot, top = (self.height_of_line(x) - base_mm for x in (x0, self.length_mm))
        return (x0, 0.0), (self.length_mm, 0.0), (self.length_mm, top), (x0, foot)

    def rail_places(self, sheet_mm: float) -> tuple[Box, Box]:
        """Where the two rails stand on the base, seen from above: on the middle of either ledge."""
        a, b = self.ledges()
        x0 = self.wedge_profile(sheet_mm)[0][0]
        places = []
        for ledge in (a, b):
            y = 0.5 * (ledge.y0 + ledge.y1)
            places.append(Box(x0=x0, y0=y - sheet_mm / 2, x1=self.length_mm, y1=y + sheet_mm / 2))
        return places[0], places[1]

    @property
    def least_target_mm(self) -> float:
        """Width of the narrowest target that lies on both ledges wherever it is pushed to, rounded up to whole mm."""
        return math.ceil(self.bay.y1 - self.bay.y0 - self.ledge_mm + LEAST_REST_MM)

    def stack(self, stock_mm: float) -> tuple[Box, ...]:
        """Plates of a stepped stack, bottom first, of sheet ``stock_mm`` thick (measured): each as wide as a ledge.

        Plate k begins where the slope has climbed to its top, so that the target rests on the plates' low-side corners
        and touches the glass at the low end; a stiff ruler bridges the steps, film needs the wedge pair.
        """
        if not 0.2 <= stock_mm <= self.high_mm - self.low_mm:
            raise InputError(
                "stock_mm", stock_mm, "give the measured thickness of sheet thinner than the climb"
            )
        count = int((self.high_mm + 1e-9) / stock_mm)
        starts = [
            self.slope_start_mm + (k * stock_mm - self.low_mm) / self.slope for k in range(1, count + 1)
        ]
        side = self.ledges()[0]
        return tuple(Box(x0=max(x, side.x0), y0=side.y0, x1=self.length_mm, y1=side.y1) for x in starts)


def make_ramp(**options: object) -> RampGeometry:
    """A ramp with wishes as keyword arguments of ``RampGeometry``; InputError where it cannot be built."""
    try:
        return RampGeometry.model_validate(options)
    except ValidationError as err:
        raise _told(err, None) from err


def load_ramp(path: str | Path) -> RampGeometry:
    """Read a ramp's geometry JSON. Raises InputError for anything else."""
    name = os.fspath(path)
    try:
        if Path(name).stat().st_size > MAX_BYTES:
            raise InputError("--ramp", name, "this is too large for a ramp's geometry")
        text = Path(name).read_text(encoding="utf-8")
    except (OSError, ValueError) as err:
        raise unreadable("--ramp", name, err, WHICH) from err
    try:
        return RampGeometry.model_validate_json(text)
    except ValidationError as err:
        if err.errors()[0]["type"] == "json_invalid":  # its input would be the whole file
            raise InputError("--ramp", name, f"this is no JSON; {WHICH}") from err
        raise _told(err, name) from err


def _told(err: ValidationError, file: str | None) -> InputError:
    first = err.errors()[0]
    where = ".".join(str(p) for p in first["loc"]) or "ramp"
    return InputError(where, first.get("input"), f"{first['msg']}; correct it", file=file)
