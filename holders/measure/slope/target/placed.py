"""Which pixels of a scan lie on the slope, and how high each is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.ramp import RampGeometry
from holders.measure.scan.cut import Part
from holders.measure.scan.spectra import Cells
from holders.measure.scan.view import View, turned
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.profile import F64
from holders.measure.slope.target.marks import RampSeen, read_ramps


@dataclass(frozen=True)
class Placed:
    """A part of a view on a slope: height = ``base_mm`` + ``per_pixel_mm`` x stored pixel along.

    ``lean``: by how many pixels along the places of one height move per pixel across (a ramp known to be turned).
    ``inside`` tells, for pixels along and across, whether the window is there; ``None``: everywhere.
    ``length_off``: the scan is not as long as the run that was told, so where the slope begins is in doubt.
    """

    part: Part
    base_mm: float
    per_pixel_mm: float
    warnings: tuple[str, ...]
    lean: float = 0.0
    inside: Callable[[F64, F64], NDArray[np.bool_]] | None = None
    length_off: bool = False

    def shifts(self, cells: Cells, strips: Sequence[int]) -> NDArray[np.int64]:
        """By how many pixels along each strip is moved so that its places have the heights of the others."""
        middle = 0.5 * (self.part.across[1] - self.part.across[0])
        return np.asarray([round(self.lean * (s + cells.rows / 2 - middle)) for s in strips], dtype=np.int64)

    def allowed(self, cells: Cells, strips: Sequence[int]) -> NDArray[np.bool_]:
        """Which cells lie wholly in the window, (strips, places)."""
        a, b = self.part.along
        n = cells.count(b - a)
        middle = a + cells.centres(b - a)[None, :] + self.shifts(cells, strips)[:, None]
        across = np.asarray(strips, dtype=float)[:, None] + self.part.across[0] + cells.rows / 2
        return self.wholly_inside(np.broadcast_to(middle, (len(strips), n)), across, cells)

    def wholly_inside(self, along: F64, across: F64, cells: Cells) -> NDArray[np.bool_]:
        """Whether cells with their middles there lie in the window with all four corners."""
        ok = np.ones(np.broadcast_shapes(along.shape, across.shape), np.bool_)
        if self.inside is not None:
            for i in (-0.5, 0.5):
                for j in (-0.5, 0.5):
                    ok &= self.inside(along + i * cells.block, across + j * cells.rows)
        return ok

    def heights(self, cells: Cells) -> F64:
        """Heights of the cells' middles, mm."""
        a, b = self.part.along
        return np.asarray(self.base_mm + self.per_pixel_mm * (a + cells.centres(b - a)), dtype=float)

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest height on the part, mm."""
        h = [self.base_mm + self.per_pixel_mm * p for p in self.part.along]
        return min(h), max(h)


def place(view: View, geometry: SlopeGeometry) -> Placed:
    """Lay a plain slope on a scan."""
    far_end = geometry.reverse != view.flipped
    run = geometry.run_mm / view.pitch_mm
    length = min(int(run + 0.5), view.along)
    warnings = []
    told = f"the scan is {view.along * view.pitch_mm:.1f} mm long by its resolution, the run {geometry.run_mm:.1f} mm"
    if view.along > 1.02 * run:
        warnings.append(
            f"{told}: only the run is measured, from the low end of the scan, and each mm that the slope begins later "
            f"makes {geometry.rise_mm / geometry.run_mm:.2f} mm of error; crop to the slope; is the resolution right?"
        )
    elif view.along < 0.9 * run:
        warnings.append(f"{told}: the far part of the slope is not in it; is the resolution right?")
    span = (view.along - length, view.along) if far_end else (0, length)
    step = geometry.rise_mm / run
    base = geometry.start_height_mm + (step * view.along if far_end else 0.0)
    return Placed(
        Part(span, (0, view.across)),
        base,
        -step if far_end else step,
        tuple(warnings),
        length_off=bool(warnings),
    )


def middle_of(view: View, placed: Placed) -> tuple[float, float]:
    """The middle of the slope, mm from the left and the top of the picture as stored."""
    along, across = (0.5 * sum(span) * view.pitch_mm for span in (placed.part.along, placed.part.across))
    return (along, across) if view.by_columns else (across, along)


WINDOW_MARGIN_MM = 0.6
SCALE_OFF = 0.01
MOST_SMALLER = 0.03  # by which a raised row may look smaller


def find_ramps(view: View, ramp: RampGeometry) -> tuple[tuple[View, RampSeen], ...]:
    """All ramps in a scan, whichever way they lie, each with the view along it; most marks first.

    Raises
    ------
    InputError
        Marks not found.
    """
    found: list[tuple[View, RampSeen]] = []
    refusal: InputError | None = None
    for way in (view, turned(view)):
        try:
            found += [(way, seen) for seen in read_ramps(way, ramp)]
        except InputError as error:
            refusal = refusal or error
    if not found and refusal is not None:
        raise refusal
    return tuple(sorted(found, key=lambda one: -one[1].marks))


def place_ramp(view: View, ramp: RampGeometry, both: RampSeen) -> tuple[Placed, View]:
    """Lay a ramp on a scan by its marks. The view comes back with the scale that the marks show.

    Raises
    ------
    InputError
        The window is not in the scan.
    """
    seen = both.row
    scale = 1.0 / seen.pixels_per_mm
    warnings = []
    if abs(scale / view.pitch_mm - 1.0) > SCALE_OFF + MOST_SMALLER * seen.far:
        warnings.append(
            f"the resolution said to be {25.4 / view.pitch_mm:.0f} dpi is {25.4 / scale:.0f} by the ramp's marks: "
            "the marks are believed"
        )
    if both.wrong:
        warnings.append(f"{both.wrong} of {both.marks} height marks were misread (dust?); the others agree")
    window = ramp.window
    corners = np.array([(x, y) for x in (window.x0, window.x1) for y in (window.y0, window.y1)])
    turn = np.array([[seen.xa, seen.xc], [seen.ya, seen.yc]])
    pixels = np.linalg.solve(turn, (corners - [seen.x0, seen.y0]).T)
    across = (max(0, int(pixels[1].min())), min(view.across, int(pixels[1].max())))
    lean = -seen.xc / seen.xa
    room = int(np.ceil(abs(lean) * (across[1] - across[0]) / 2)) + 1
    along = (max(room, int(pixels[0].min())), min(view.along - room, int(pixels[0].max())))
    if along[1] - along[0] < 64 or across[1] - across[0] < 16:
        raise InputError(
            "scan", view.scan.info.path, "the ramp's window is not in the picture; scan more of it"
        )
    middle = 0.5 * (across[0] + across[1])
    base = ramp.height_at(float(seen.x(np.zeros(1), np.full(1, middle))[0]))

    def inside(a: F64, c: F64) -> NDArray[np.bool_]:
        x, y = seen.x(a, c), seen.y(a, c)
        m = WINDOW_MARGIN_MM
        ok = (x > window.x0 + m) & (x < window.x1 - m) & (y > window.y0 + m) & (y < window.y1 - m)
        return np.asarray(ok, dtype=np.bool_)

    placed = Placed(Part(along, across), base, ramp.slope * seen.xa, tuple(warnings), lean, inside)
    return placed, replace(view, pitch_mm=scale)
