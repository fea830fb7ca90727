"""The glass of a design: where its plates lie, and what they add to the sheet and to the film."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from holders.core.lengths import measure
from holders.core.lines import Caution, Row
from holders.design.model import Design, Fitted, Plate, Rect
from holders.facts.habits import habit
from holders.fittings.cover.plate import glass_weight_n
from holders.fittings.cover.spring import Spring
from holders.fittings.on_glass import ETCHED, PLAIN_GLASS, Face, bought_face, ring_face
from holders.geometry.outline import Point
from holders.preset.resolve import Job

if TYPE_CHECKING:
    from holders.film.models import Support

COVER = Caution(
    "cover",
    "Glass cover",
    "Order the plate with ground edges and blunted corners; a bare edge cuts. Lift it by its edges at a finger "
    "notch, or with a suction lifter, never with a blade and never over the scanner's bare glass. Take it out "
    "before the holder is turned over, and carry it level. A cracked cover is not used any more; eye protection and "
    "gloves to lift it out.",
)
CATCHES = Caution(
    "catches",
    "Catches and their pins",
    "Push each catch back with a fingertip before the plate goes down or comes up, and never force the plate past one. "
    "Cut the pins to the length given: a longer one comes through and scratches the scanner's glass; never drive a pin "
    "while the holder lies on the scanner.",
)
GRAIN = "grain of the faces along the legs"
SHORT_MM = 0.2
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
    face: Face  # what lies on the film: etched, coated or plain
    clearance: float  # to its pocket, each side
    reach: float  # of a catch over the plate as it lies in the middle of its pocket; 0 without catches
    catches: int = 0  # of all plates
    pins: tuple[Point, ...] = ()  # that keep the catches' pads in their places
    pin_depth: float = 0.0  # of the hole below the pad
    spring: Spring | None = None  # of each catch
    grained: bool = False  # of a material that is stiff along its grain only
    opened: bool = True  # whether fingertips reach each plate at two opposite edges

    on_film: ClassVar[str] = "glass cover"
    brief: ClassVar[str] = "glass"
    step_picture: ClassVar[str] = "catch"
    holds_film: ClassVar[bool] = True

    @property
    def plates(self) -> tuple[Plate, ...]:
        """The glass."""
        return (Plate("glass cover", self.places, self.z0, self.z1),)

    def spots(self) -> tuple[tuple[str, Rect], ...]:
        """Where the catches' pins stand."""
        return tuple(("pin", Rect(x, y, 0.0, 0.0)) for x, y in self.pins)

    @property
    def pin_length(self) -> float:
        """Of a pin, pad and hole together, a little short so that it never sticks out."""
        return 0.0 if self.spring is None else self.spring.thick + self.pin_depth - SHORT_MM

    @property
    def held_edges(self) -> int:
        """How many of two opposite edges of a plate have catches: 2 where both have, of the plate with the fewest."""
        return min((_held(rect, self._pins_of(rect)) for rect in self.places), default=0)

    def _pins_of(self, rect: Rect) -> list[Point]:
        return [pin for pin in self.pins if min(self.places, key=lambda one: _off(one, pin)) is rect]

    @property
    def each(self) -> float:
        """Catches of one plate."""
        return self.catches / len(self.places)

    def bought(self) -> tuple[tuple[str, int, str], ...]:
        """The pins."""
        size = f"{measure(habit('dowel'))} x {self.pin_length:.1f} mm"
        return (("pin, steel or hard wood", len(self.pins), size),) if self.pins else ()

    def support(self, job: Job, design: Design) -> Support | None:
        """Film between ledge and glass, which lies on it by its own weight until catches stop it.

        A catch gives as it stops the plate: by what the weight of the plate itself bends it.
        """
        from holders.design.held.held_film import lips_of  # noqa: PLC0415 - numpy
        from holders.film.hold import Hold  # noqa: PLC0415
        from holders.film.models import Kind, Support  # noqa: PLC0415

        height = design.heights.ledge_above_glass
        most = None
        if self.spring is not None:
            gives = self.spring.lift_mm(
                plate_weight_n(self) / self.each, job.material.modulus_mpa, job.material.poisson
            )
            most = round(max(0.0, height + design.pocket_depth - self.z1) + gives, 6)
        return Support(
            kind=Kind.COVER,
            ledge_height_mm=height,
            lips=lips_of(design.windows[0].lips),
            hold=Hold(weight_n=round(plate_weight_n(self), 6), most_rise_mm=most),
        )

    def pressing_n(self, job: Job, design: Design) -> float:  # noqa: ARG002
        """The weight of all plates."""
        return sum(glass_weight_n(plate, self.z1 - self.z0) for plate in self.places)

    def top_mm(self, parts_mm: float) -> float:
        """The catches are the highest of the parts, unless the plate is."""
        return max(parts_mm, self.z1)

    def notes(self) -> tuple[str, ...]:
        """What to order and to look after."""
        first = self.places[0]
        words = [
            f"order the glass cover, cut to size: "
            f"{len(self.places)} x {first.width:.1f} x {first.height:.1f} x {self.z1 - self.z0:g} mm, "
            f"edges ground and corners blunted; {FACES[self.face]}"
        ]
        if self.spring is not None:
            many = f"{self.catches} spring catch{'' if self.catches == 1 else 'es'}"
            words.append(
                f"{many}, each on two pins of {measure(habit('dowel'))} x "
                f"{self.pin_length:.1f} mm and glued; the frame's holes are {self.pin_depth:.1f} mm deep"
            )
        return tuple(words)

    def cautions(self, job: Job) -> tuple[Caution, ...]:  # noqa: ARG002
        """Glass that breaks and cuts."""
        caught = () if self.spring is None else (CATCHES,)
        return (COVER, *caught)

    def drawn(self) -> tuple[str, ...]:
        """Which way the grain of its catches runs."""
        return (f"Catches: {GRAIN}.",) if self._by_grain else ()

    def rings(self, job: Job) -> tuple[str, ...]:
        """Its own face on the film."""
        return (ring_face("glass cover", self.face, job, up=True).words,)

    @property
    def _by_grain(self) -> bool:
        return self.grained and self.spring is not None

    @property
    def _lifted(self) -> str:
        """How a plate is taken out, as the check of the finger notches judges it."""
        if self.opened:
            return "lift the plate with gloved fingertips at its edges in the two openings at opposite edges"
        return "lift the plate with a suction lifter, away from the scanner"

    @property
    def _film_out(self) -> str:
        return (
            "; then the film, by its edge in the same openings."
            if self.opened
            else "; then the film, with a folded card."
        )

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """The last step over the film."""
        face = "" if self.face == "plain" else f", its {self.face} face down on the film"
        return (
            f"Clean the glass plate with a cloth, hold it by its edges and lower it onto the film{face}. To open: "
            f"{self._lifted}{self._film_out}"
            if self.spring is None
            else "Clean the glass plate with a cloth and hold it by its edges. Push the catches of one edge "
            "back with a fingertip, "
            f"lower that edge, then the other likewise{face}. Each nose springs over the glass and must not press. "
            f"To open: push the catches of one edge back and {self._lifted}, that edge first{self._film_out}",
        )

    def care(self) -> tuple[str, ...]:
        """Of its glass."""
        return (ETCHED if self.face == "etched" else PLAIN_GLASS,)

    def making(self, design: Design) -> tuple[str, ...]:
        """The catches."""
        if self.spring is None:
            return ()
        glue = "a drop of super glue" if design.route == "print" else "glue"
        grain = (
            f"The catches are cut with the {GRAIN}: across it they push back with a seventh and may break; turn a "
            "piece that lies otherwise. "
        )
        return (
            f"Saw the pins to {self.pin_length:.1f} mm, eye protection on, and file both ends free of burr. "
            f"{grain if self._by_grain else ''}Lay each catch on the frame, its nose over the pocket, and push "
            f"its two pins with a thumb through the pad into the frame until they are "
            "level. Rub a pin that jams thinner with fine abrasive paper; one that is driven in cracks the frame. Then "
            f"{glue} under the pad only. Legs and nose stay free: push each nose back until its slot closes, and see "
            "it spring forward again.",
        )

    def takes(self, design: Design) -> tuple[str, ...]:
        """The plate; for catches pins, what cuts them, and glue; a card where no opening lets fingers at the film."""
        card = () if self.opened else ("spare-card",)
        if self.spring is None:
            return ("glass", "cloth", *card)
        return (
            "glass",
            "cloth",
            *card,
            "pins",
            "saw",
            "file",
            "abrasive",
            "super-glue" if design.route == "print" else "glue",
        )

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Plates of glass by size, and the pins that hold their catches."""
        sizes = {(round(rect.width, 2), round(rect.height, 2)) for rect in self.places}
        face, way = bought_face(self.face, "down, on the film")
        found = [
            Row(
                f"glass plate, {width:.1f} x {height:.1f} x {self.z1 - self.z0:g} mm{face}",
                sum((round(r.width, 2), round(r.height, 2)) == (width, height) for r in self.places),
                "pieces",
                f"{way}cut to 0.5 mm, edges ground",
                thing="glass",
            )
            for width, height in sorted(sizes)
        ]
        if self.pins:
            size = f"{measure(habit('dowel'))} mm"
            note = f"{self.pin_length:.1f} mm long, no longer: a longer one comes through below"
            found.append(
                Row(f"pins {size}, steel or hard wood", len(self.pins), "pieces", note, thing="pins")
            )
        return tuple(found)


def plate_weight_n(pane: Pane) -> float:
    """Weight of one plate, N."""
    return glass_weight_n(pane.places[0], pane.z1 - pane.z0)


def _off(rect: Rect, pin: Point) -> float:
    """How far a pin is from a plate, mm."""
    x, y = pin
    return max(rect.x - x, x - rect.right, rect.y - y, y - rect.top)


def _held(rect: Rect, pins: Sequence[Point]) -> int:
    """2 where pins stand beyond two opposite edges of a plate, 1 where they do beyond one edge, else 0."""
    foot, head = any(y < rect.y for _, y in pins), any(y > rect.top for _, y in pins)
    left, right = any(x < rect.x for x, _ in pins), any(x > rect.right for x, _ in pins)
    return max(foot + head, left + right)
