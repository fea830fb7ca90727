"""Film between two glasses in a finished design: where they lie, and what sheet and drawings say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from holders.core.lines import Caution, Row
from holders.design.model import Design, Fitted, Plate, Rect
from holders.fittings.glasses.table import Glasses
from holders.fittings.on_glass import ETCHED, PLAIN_GLASS, TEMPLATE, bought_face, ring_face
from holders.preset.resolve import Job

GLASS = Caution(
    "two-glasses",
    "Two plates of glass",
    "Order both with ground edges and blunted corners; a bare edge cuts, and a plate that slips off the other breaks. "
    "Part them over a padded bench, never over the scanner, with a strip of card and never with a blade. A cracked "
    "plate is not used any more; eye protection and gloves to lift it out.",
)


@dataclass(frozen=True, slots=True)
class Sandwich(Fitted):
    """Film and upper plate on each lower one: rectangles as seen from above, one a window, heights above the glass, mm.

    ``bare_mm`` is how far a window reaches past its film.
    """

    table: Glasses
    films: tuple[Rect, ...]
    uppers: tuple[Rect, ...]
    film_z: tuple[float, float]
    upper_z: tuple[float, float]
    bare_mm: float = 0.0

    in_pocket: ClassVar[str] = "lower glass"

    @property
    def in_pocket_mm(self) -> float:
        """The lower plate."""
        return self.table.below_mm

    @property
    def plates(self) -> tuple[Plate, ...]:
        """Film and upper plate."""
        return (
            Plate("film", self.films, *self.film_z, is_film=True),
            Plate("upper glass", self.uppers, *self.upper_z),
        )

    def top_mm(self, parts_mm: float) -> float:
        """The upper plate stands above the wall."""
        return max(parts_mm, self.upper_z[1])

    def spots(self) -> tuple[tuple[str, Rect], ...]:
        """The films."""
        return tuple(("film", rect) for rect in self.films)

    def _size(self) -> str:
        rect = self.uppers[0]
        return f"{rect.width:.1f} x {rect.height:.1f}"

    def notes(self) -> tuple[str, ...]:
        """What to order."""
        t = self.table
        return (
            f"order two plates for each film, cut to size: {self._size()} mm, "
            f"{t.below_mm:g} mm below it ({t.face_below} face up) "
            f"and {t.above_mm:g} mm on it ({t.face_above} face down); edges ground and corners blunted",
        )

    def cautions(self, job: Job) -> tuple[Caution, ...]:  # noqa: ARG002
        """Glass that breaks and cuts."""
        return (GLASS,)

    def preparing(self, what: str) -> tuple[str, ...]:
        """Laying the film between the plates."""
        t = self.table
        below = "" if t.face_below == "plain" else f", its {t.face_below} face up"
        above = "" if t.face_above == "plain" else f", its {t.face_above} face down"
        return (
            f"Lay the {what} between the plates on a padded bench beside the scanner. {TEMPLATE}",
            "Clean all four faces of the glass with a cloth and blow them off: dust between glass and film is "
            "in focus. Glass and "
            "film must be dry; damp film sticks to glass.",
            f"Lay the lower plate down{below}, the {what} in its middle, and lower the upper plate onto it from one "
            f"edge{above}. Tape the plates together at two opposite edges, on the edges only.",
        )

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """After the plates lie on the ledge."""
        return (
            "Look at an angle across both faces: coloured rings that are seen there will be in the scan.",
        )

    def afterwards(self) -> tuple[str, ...]:
        """Taking them apart."""
        return (
            "Take film and glass apart when you stop: film left between glass picks up damp and sticks to it.",
        )

    def care(self) -> tuple[str, ...]:
        """Of its glass."""
        etched = "etched" in (self.table.face_below, self.table.face_above)
        return (ETCHED if etched else PLAIN_GLASS,)

    def rings(self, job: Job) -> tuple[str, ...]:
        """Both plates' faces on the film."""
        t = self.table
        return (
            ring_face("lower glass", t.face_below, job, up=False).words,
            ring_face("upper glass", t.face_above, job, up=True).words,
        )

    def takes(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Both plates, and what is on the bench where film is laid between them."""
        return ("glass", "pad", "paper", "cloth", "blower", "tape")

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Both plates."""
        t, count = self.table, len(self.films)
        remark = "cut to 0.5 mm, edges ground, corners blunted"
        rows = (
            ("lower", t.below_mm, t.face_below, "up, under the film"),
            ("upper", t.above_mm, t.face_above, "down, on the film"),
        )
        return tuple(
            Row(
                f"{which} glass, {self._size()} x {thick:g} mm" + bought_face(face, where)[0],
                count,
                "pieces",
                bought_face(face, where)[1] + remark,
                thing="glass",
            )
            for which, thick, face, where in rows
        )
