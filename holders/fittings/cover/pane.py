"""The glass of a design: where its plates lie, and what they add to the sheet and to the film."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from holders.core.lengths import measure
from holders.core.lines import Caution, Row
from holders.design.model import Design, Fitted, Plate, Rect
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.tables import film_base, hazard
from holders.geometry.outline import Point
from holders.preset.resolve import Job

if TYPE_CHECKING:
    from holders.film.models import Support

COVER = Caution(
    "cover",
    "Glass cover",
    "Order the plate with ground edges and dubbed corners; a bare edge cuts. Lift it by its edges at a finger notch, "
    "or with a suction lifter, never with a blade and never over the scanner's bare glass. Take it out before the "
    "holder is carried or turned over; buttons must turn freely and never be forced over the plate. Use only screws "
    "of the length given: a longer one comes through and scratches the scanner's glass; never drive a screw while the "
    "holder lies on the scanner. A cracked cover is not used any more; eye protection and gloves to lift it out.",
)
FACES = {
    "etched": "one face finely etched: that face lies on the film",
    "coated": "coated against reflection",
    "plain": "plain: rings may show between glass and film",
}


@dataclass(frozen=True, slots=True)
class Pane(Fitted):
    """A plate of glass on each film: where it lies, one rectangle a window, and between which heights."""

    places: tuple[Rect, ...]
    z0: float
    z1: float
    face: str  # what lies on the film: etched, coated or plain
    clearance: float  # to its pocket, each side
    reach: float  # of a turn button over the plate as it lies in the middle of its pocket; 0 without buttons
    screws: tuple[Point, ...] = ()  # where the buttons turn
    screw: str = ""
    screw_depth: float = 0.0  # of the hole that takes the thread
    head_height: float = 0.0  # of the screw, above its button

    on_film: ClassVar[str] = "glass cover"
    brief: ClassVar[str] = "glass"
    step_picture: ClassVar[str] = "screw"
    holds_film: ClassVar[bool] = True

    @property
    def plates(self) -> tuple[Plate, ...]:
        """The glass."""
        return (Plate("glass cover", self.places, self.z0, self.z1),)

    def spots(self) -> tuple[tuple[str, Rect], ...]:
        """Where the buttons' screws stand."""
        return tuple(("screw", Rect(x, y, 0.0, 0.0)) for x, y in self.screws)

    def bought(self) -> tuple[tuple[str, int, str], ...]:
        """The screws."""
        return (("screw, pan head", len(self.screws), self.screw),) if self.screws else ()

    def support(self, job: Job, design: Design) -> Support | None:  # noqa: ARG002
        """Film between ledge and glass, which lies on it by its own weight until turn buttons stop it."""
        from holders.design.held.held_film import lips_of  # noqa: PLC0415 - numpy
        from holders.film.hold import Hold  # noqa: PLC0415
        from holders.film.models import Kind, Support  # noqa: PLC0415

        height = design.heights.ledge_above_glass
        most = round(max(0.0, height + design.pocket_depth - self.z1), 6) if self.screws else None
        return Support(
            kind=Kind.COVER,
            ledge_height_mm=height,
            lips=lips_of(design.windows[0].lips),
            hold=Hold(weight_n=round(plate_weight_n(self), 6), most_rise_mm=most),
        )

    def pressing_n(self, job: Job, design: Design) -> float:  # noqa: ARG002
        """The weight of all plates."""
        glass = sum(r.width * r.height for r in self.places) * (self.z1 - self.z0)
        return glass * film_base("glass").density_kg_m3 * 1e-9 * GRAVITY_M_S2

    def top_mm(self, parts_mm: float) -> float:
        """The screws' heads stand on the buttons, the highest of the parts."""
        return max(parts_mm + self.head_height, self.z1)

    def notes(self) -> tuple[str, ...]:
        """What to order and to look after."""
        first = self.places[0]
        words = [
            f"glass cover: {len(self.places)} x {first.width:.1f} x {first.height:.1f} x {self.z1 - self.z0:g} mm, "
            f"edges ground and corners dubbed; {FACES[self.face]}"
        ]
        if self.screws:
            words.append(
                f"{len(self.screws)} pan head screws {self.screw}, at most {self.screw_depth:.1f} mm of thread below "
                "the turn button, turned in only so far that the button still turns: it must never press on the glass"
            )
        return tuple(words)

    def cautions(self, job: Job) -> tuple[Caution, ...]:  # noqa: ARG002
        """Glass that breaks and cuts, and fluid that some lay film in under it."""
        row = hazard("wet-fluid")
        return COVER, Caution(row.key, row.name, row.words)

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """The last step over the film."""
        face = "" if self.face == "plain" else f", its {self.face} face down on the film"
        return (
            f"Clean the glass plate, hold it by its edges and lower it onto the film{face}."
            + (" Turn the buttons over its edge; they must not press." if self.screws else ""),
        )

    def making(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """The turn buttons."""
        if not self.screws:
            return ()
        return (
            f"Screw each turn button on with a pan head screw {self.screw}; it cuts its own thread, and may reach at "
            f"most {measure(self.screw_depth)} mm below the button. Stop while the button still turns by hand, and "
            "look that no point comes through below.",
        )

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Plates and screws."""
        sizes = {(round(rect.width, 2), round(rect.height, 2)) for rect in self.places}
        face = "" if self.face == "plain" else f", one face {self.face}"
        found = [
            Row(
                f"glass plate, {width:.1f} x {height:.1f} x {self.z1 - self.z0:g} mm{face}",
                sum((round(r.width, 2), round(r.height, 2)) == (width, height) for r in self.places),
                "pieces",
                "cut to 0.5 mm, edges ground",
            )
            for width, height in sorted(sizes)
        ]
        if self.screws:
            note = f"at most {self.screw_depth:.1f} mm longer than the turn button is thick"
            found.append(Row(f"pan head screws {self.screw}", len(self.screws), "pieces", note))
        return tuple(found)


def plate_weight_n(pane: Pane) -> float:
    """Weight of one plate, N."""
    rect = pane.places[0]
    return float(
        rect.width
        * rect.height
        * (pane.z1 - pane.z0)
        * film_base("glass").density_kg_m3
        * 1e-9
        * GRAVITY_M_S2
    )
