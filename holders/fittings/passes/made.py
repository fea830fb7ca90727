"""What a holder with passes knows of itself: its passes, its blocks, and how it is moved and scanned, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from holders.core.lines import Caution
from holders.design.draft.stands import Moves
from holders.design.model import Design, Fitted
from holders.fittings.passes.blocks import RIMS, Row
from holders.geometry.outline import Point
from holders.geometry.rect import Rect
from holders.preset.resolve import Job


@dataclass(frozen=True, slots=True)
class Passes(Fitted):
    """A holder in its places, in bed coordinates, mm."""

    moves: Moves
    rows: tuple[Row, ...]
    overlap: float  # asked for, at least
    stands: tuple[Point, ...] = field()  # without a default: that of all fittings is a property
    crops: tuple[Rect | None, ...]  # what each pass sees of the window, where it then lies on the bed

    def blocks(self, number: int) -> tuple[tuple[Row, tuple[Rect, ...]], ...]:
        """Where the step blocks of each axis lie in pass ``number``, counted from 0."""
        across, along = self.stands[number]
        found = []
        for row in self.rows:
            shift = across if row.way == "across" else along
            found.append((row, row.rects(round(shift / row.steps.step))))
        return tuple(found)

    def beside(self, number: int) -> tuple[Rect, ...]:
        """The step blocks of all axes."""
        return tuple(rect for _, rects in self.blocks(number) for rect in rects)

    def scanning(self, number: int) -> str:
        """Which blocks to carry where."""
        if number == 0:
            rims = " and the ".join(RIMS[row.way][0] for row in self.rows)
            far = " and the ".join(RIMS[row.way][1] for row in self.rows)
            return (
                f"push the holder gently against the {rims} and lay every step block flat on the glass between the "
                f"holder and the {far}"
            )
        (x0, y0), (x1, y1) = self.stands[number - 1], self.stands[number]
        way = "across" if x1 != x0 else "along"
        row = next(row for row in self.rows if row.way == way)
        near, far = RIMS[row.way] if x1 > x0 or y1 > y0 else RIMS[row.way][::-1]
        several = len(row.starts) > 1
        all_of_them = row.steps.count == 2
        carried = ("both step blocks" if all_of_them else "two step blocks") if several else "one step block"
        return (
            f"lift the holder off, carry {carried} of {row.steps.step:.1f} mm from the {far} to the "
            f"{near}, flat on the glass, set the holder down and push it gently toward the {RIMS[row.way][0]} until it "
            "stops"
        )

    def words(self) -> str:
        """How many passes, and how far apart."""
        ways = [
            f"{row.steps.count} places {row.steps.step:.1f} mm apart {row.way} the bed" for row in self.rows
        ]
        return f"{self.moves.count} passes: {' and '.join(ways)}"

    def notes(self) -> tuple[str, ...]:
        """What it is for."""
        return (
            f"the lamp area does not light the whole film: it is scanned in {self.words()}; the film stays in the "
            "holder, and the holder moves",
        )

    def drawn(self) -> tuple[str, ...]:
        """Beside the plan."""
        return (f"{self.words()}; drawn in the first place.",)

    def loading(self, what: str) -> tuple[str, ...]:
        """What stays as it is between the passes."""
        return (
            f"From here to the last pass the {what} stays as it lies: the holder moves, the {what} never.",
        )

    def takes(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """What its step blocks are measured with."""
        return ("caliper",)

    def making(self, design: Design) -> tuple[str, ...]:
        """The one length that has to be right."""
        steps = " and ".join(f"{row.steps.step:.1f} mm ({row.way} the bed)" for row in self.rows)
        same = (
            "all of them alike within 0.2 mm, or the holder stands askew" if self._pairs() else "by a caliper"
        )
        del design
        return (
            f"Measure the step blocks across: {steps}, {same}. A tenth more or less only changes the overlap.",
        )

    def _pairs(self) -> bool:
        return any(len(row.starts) * (row.steps.count - 1) > 1 for row in self.rows)

    def cautions(self, job: Job) -> tuple[Caution, ...]:
        """Moving on a lit bed."""
        del job
        return (
            Caution(
                "moving-holder",
                "Open lid, bright lamp, glass underneath",
                "Lift the holder with both hands to move it, and push it only the last few millimetres: grit below "
                "a foot scratches the glass. Close the lid by hand each time; do not look into the lit lamp.",
            ),
        )

    def record(self, design: Design) -> Mapping[str, object]:  # noqa: ARG002
        """Each pass: how far the holder has been moved from its first place, and its crop box."""
        return {
            "passes": [
                {
                    "shift": [round(x, 3), round(y, 3)],
                    "crop": None if crop is None else {
                        "x": round(crop.x, 3), "y": round(crop.y, 3),
                        "width": round(crop.width, 3), "height": round(crop.height, 3),
                    },
                }
                for (x, y), crop in zip(self.stands, self.crops, strict=True)
            ]
        }  # fmt: skip
