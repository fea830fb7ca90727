"""Film in fluid on its glass in a finished design: where film and overlay lie, and what sheet and drawings say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from holders.core.lines import Caution, Row
from holders.design.model import Design, Fitted, Plate, Rect
from holders.facts.tables import hazard
from holders.fittings.on_glass import PLAIN_GLASS, TEMPLATE
from holders.fittings.wet.table import Wet
from holders.preset.resolve import Job

GLASS = Caution(
    "mounting-glass",
    "Glass with film in fluid",
    "Order the glass with ground edges and blunted corners; a bare edge cuts, and wet glass slips: hold it by "
    "two opposite edges over a padded bench. A cracked plate is not used any more; eye protection and gloves to "
    "lift it out.",
)
REFUSED = (
    "the fluid is not stated by its maker to be non-flammable. Vapour that burns has no place on a scanner that is "
    "plugged in and under its lamp"
)


@dataclass(frozen=True, slots=True)
class Mounted(Fitted):
    """Film and overlay on each plate: rectangles as seen from above, one a window, and heights above the glass, mm."""

    table: Wet
    films: tuple[Rect, ...]
    overlays: tuple[Rect, ...]
    glass: tuple[float, float]
    film_z: tuple[float, float]
    overlay_z: tuple[float, float]

    bare_mm: float = 0.0  # how much of the window shows glass beside the film, mm

    in_pocket: ClassVar[str] = "glass plate"

    @property
    def in_pocket_mm(self) -> float:
        """The glass."""
        return self.table.thickness_mm

    @property
    def masked(self) -> bool:
        """Whether a mask is wanted and there is bare glass for it to cover."""
        return self.table.mask and self.bare_mm > 0

    @property
    def plates(self) -> tuple[Plate, ...]:
        """Film and overlay."""
        return (
            Plate("film", self.films, *self.film_z, is_film=True),
            Plate("overlay film", self.overlays, *self.overlay_z),
        )

    def top_mm(self, parts_mm: float) -> float:
        """Glass, film and overlay lie below the wall's top."""
        return max(parts_mm, self.overlay_z[1])

    def forbidden(self) -> str:
        """A fluid that burns, or of which nothing is known."""
        return "" if self.table.flammable == "no" else REFUSED

    def spots(self) -> tuple[tuple[str, Rect], ...]:
        """The films."""
        return tuple(("film", rect) for rect in self.films)

    def notes(self) -> tuple[str, ...]:
        """What to order."""
        width, length = self.glass
        found = [
            f"order the glass, cut to size: "
            f"{len(self.films)} x {width:.1f} x {length:.1f} x {self.table.thickness_mm:g} mm, "
            f"edges ground and corners blunted; the film lies in fluid "
            f"{'below' if self.table.side == 'under' else 'above'} it, under an overlay film"
        ]
        if self.bare_mm > 0 and not self.table.mask:
            found.append("no mask: the lamp shines past the film through bare glass and lifts its dark parts")
        return tuple(found)

    def cautions(self, job: Job) -> tuple[Caution, ...]:  # noqa: ARG002
        """Fluid and glass."""
        found = []
        for key in ("mounting-fluid", "wet-fluid"):
            row = hazard(key)
            found.append(Caution(row.key, row.name, row.words))
        return (*found, GLASS)

    def preparing(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """Mounting the film on its glass."""
        over = self.overlays[0]
        found = [
            "Mount on a bench away from the scanner, in an aired room, with no flame or heater near and gloves "
            "that the fluid's data sheet names. Use only a fluid that its maker states to be non-flammable; nothing of "
            "acrylic touches fluid: no acrylic holder, ruler or tray.",
            TEMPLATE,
            "Clean both faces of the glass and the overlay with a cloth; lay the glass on a raised, level "
            "support. Pour a line of "
            "fluid along one edge of the film's place, lower the film onto it from that edge, "
            "and let the fluid run ahead of it.",
            f"Pour a second line on the film and lower the overlay, {over.width:.0f} x {over.height:.0f} mm, in the "
            "same way. Roll it from the middle outward with a soft roller until no bubble is left, then tape its two "
            "ends to the glass, outside the film.",
            "Stand the glass on edge on absorbent paper until nothing drips. Wipe the rim, the edges and the bare face "
            "dry: where the glass lies on the ledge it must be dry.",
            "Leave it standing until no vapour is left: no smell at the glass, and not less time than the data sheet "
            "gives. Only then does it go near the scanner, and only then is the lamp switched on.",
        ]
        if self.masked:
            found.append(
                "Cut a mask of thin black card with an opening 1 mm larger than the film all round; it lies on top, so "
                "that no light passes beside the film."
            )
        way = (
            "down, film and overlay below it" if self.table.side == "under" else "up, film and overlay on top"
        )
        found.append(f"The glass goes into the holder with its film side {way}.")
        return tuple(found)

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """After the glass lies on the ledge."""
        found = [
            "Look from the side: no drop hangs from the glass or stands on the ledge. A drop on the scanner's glass is "
            "wiped off before it creeps under the rim."
        ]
        if self.masked:
            found.append("Lay the mask on top, its opening over the film.")
        return tuple(found)

    def afterwards(self) -> tuple[str, ...]:
        """Taking film and glass apart."""
        return (
            "Do not leave the lid shut longer than the scan takes. Take the glass out at once when you stop, and take "
            "film and glass apart on the bench: lift the overlay from one corner, then the film.",
        )

    def care(self) -> tuple[str, ...]:
        """Of its glass."""
        return (PLAIN_GLASS,)

    def rings(self, job: Job) -> tuple[str, ...]:  # noqa: ARG002
        """None, in fluid."""
        return ("between film, glass and overlay none: fluid leaves no air there",)

    def takes(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """What is on the bench where film is mounted."""
        card = ("card", "knife") if self.masked else ()
        return ("gloves", "fluid", "paper", "glass", "overlay", "cloth", "roller", "tape", "absorbent", *card)

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Glass, overlay, fluid and card."""
        width, length = self.glass
        over, count = self.overlays[0], len(self.films)
        found = [
            Row(
                f"glass plate, {width:.1f} x {length:.1f} x {self.table.thickness_mm:g} mm",
                count,
                "pieces",
                "cut to 0.5 mm, edges ground, corners blunted",
                thing="glass",
            ),
            Row(
                f"clear polyester overlay film, {over.width:.0f} x {over.height:.0f} x {self.table.overlay_mm:g} mm",
                count,
                "pieces",
                "without scratches; a new one for each film",
                thing="overlay",
            ),
            Row(
                "mounting fluid",
                1,
                "bottle",
                f"only one that its maker states to be non-flammable; refractive index near {self.table.fluid_index:g}",
                thing="fluid",
            ),
        ]
        if self.masked:
            found.append(
                Row(
                    "thin black card for the mask",
                    count,
                    "pieces",
                    f"{width:.0f} x {length:.0f} mm",
                    thing="card",
                )
            )
        return tuple(found)
