"""The steel bars of a design: where they lie, what they weigh, and what they add to the sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from holders.core.lengths import measure
from holders.core.lines import Caution, Row
from holders.design.model import Design, Fitted, Plate, Rect
from holders.design.parts.steel import LaidBar
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.models import Bar

if TYPE_CHECKING:
    from holders.preset.resolve import Job

STOCK_MM = 1000.0  # a bar as it is sold
SAW_MM = 2.0  # lost with each cut
CAUTION = Caution(
    "steel",
    "Sawn steel",
    "Clamp the bar to saw it, eye protection on; round every edge and corner with a file, as a burr cuts fingers and "
    "film. Wipe the swarf off with a damp cloth, away from scanner and film: do not blow. Glue with gloves, by its "
    "maker's sheet. A bar that comes off breaks the glass: try each by hand before the lid goes near the scanner.",
)


@dataclass(frozen=True, slots=True)
class Steel(Fitted):
    """The bars on all lids of a design, mm: at left and right and at head and foot, and between which heights.

    ``on``: glued on the lids, else let in from below with ``cover`` of the lid above them. ``over`` is the room below a
    bar that reaches out over the frame (None: none does), ``proud_mm`` how far they stand above the frame.
    """

    sides: Bar | None
    ends: Bar | None
    side_places: tuple[Rect, ...]
    end_places: tuple[Rect, ...]
    z0: float
    on: bool
    lids: int
    cover: float = 0.0
    over: float | None = None
    glued: float = 0.0  # width of the narrowest strip of lid that a bar is glued to
    above: float = 0.0

    @property
    def proud_mm(self) -> float:
        """How far they stand above the frame, so that a hand takes them."""
        return max(0.0, self.above)

    @property
    def lifted_by(self) -> str:
        """What a hand takes the lid by."""
        return "bars" if self.on else ""

    @property
    def plates(self) -> tuple[Plate, ...]:
        """The bars."""
        pairs = ((self.sides, self.side_places), (self.ends, self.end_places))
        return tuple(
            Plate(_called(one), places, self.z0, self.z0 + one.height_mm, on_lid=True)
            for one, places in pairs
            if one is not None
        )

    @property
    def laid(self) -> tuple[LaidBar, ...]:
        """Each bar with its heights."""
        return tuple(LaidBar(rect, plate.z0, plate.z1) for plate in self.plates for rect in plate.places)

    @property
    def each_n(self) -> float:
        """Weight of the bars of one lid, N."""
        return sum(bar.weight_n for bar in self.laid) / self.lids

    def pressing_n(self, job: Job, design: Design) -> float:  # noqa: ARG002
        """The weight of all of them, on the lids of every kind of film."""
        return sum(bar.weight_n for one in steels(design) for bar in one.laid)

    def top_mm(self, parts_mm: float) -> float:
        """They may be the highest of all."""
        return max(parts_mm, *(plate.z1 for plate in self.plates))

    def lengths(self) -> tuple[tuple[Bar, float, int], ...]:
        """The list of cuts: which bar, how long (mm), how many; short by a tenth rather than long."""
        return cut_list((self,))

    def notes(self) -> tuple[str, ...]:
        """What goes where."""
        where = "glued on each lid" if self.on else "glued into the pockets of each lid's underside"
        cuts = "; ".join(f"{count} of {long:.1f} mm, {_called(one)}" for one, long, count in self.lengths())
        return (f"{where}: {cuts}; {1000 * self.each_n / GRAVITY_M_S2:.0f} g of steel a lid",)

    def cautions(self, job: Job) -> tuple[Caution, ...]:  # noqa: ARG002
        """Sawing, burrs, and what a loose bar does."""
        return (CAUTION,)

    def preparing(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """Whether they still hold."""
        return ("Pull at each steel bar of the lid with two fingers: one that moves is glued again first.",)

    def making(self, design: Design) -> tuple[str, ...]:
        """Sawing, blackening and gluing them."""
        listed = cut_list(steels(design))
        cuts = "; ".join(f"{count} x {long:.1f} mm of {_called(one)}" for one, long, count in listed)
        first = f"Saw the steel: {cuts}; file edges and corners round. Take bars that lie flat on glass."
        if not self.on:
            return (
                first,
                "Degrease each bar with a cloth and washing-up liquid, dry it, and glue it into its pocket in "
                "the lid's underside with two-part epoxy: flush or "
                "deeper, never proud, as it would carry the lid instead of the film. Let it cure for a day.",
            )
        over, corners = "", ""
        if self.sides is not None and self.ends is not None:
            corners = "; those of head and foot run past the others"
        if self.over is not None:
            over = f" They clear the frame by {self.over:.1f} mm: keep glue and paint from there."
        return (
            f"{first} Paint all faces but the glued one matt black, or tape them.",
            f"Degrease the bars with a cloth and washing-up liquid, dry them, and glue them on the lid with "
            f"two-part epoxy, half a millimetre (two cards) behind its "
            f"inner edge and never beyond{corners}.{over} Weight them down on a flat table and let cure for a day.",
        )

    def bought(self) -> tuple[tuple[str, int, str], ...]:
        """Nothing small: the bars stand in the list of what is laid in."""
        return ()

    def takes(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Steel, what it is cut and glued with, and on a lid black and weights."""
        return (
            "bars",
            "saw",
            "file",
            "cloth",
            "washing-up",
            "epoxy",
            *(("black", "weight") if self.on else ()),
        )

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """The bars of all kinds of film by the metre with the list of cuts, and glue."""
        rows, listed = [], cut_list(steels(design))
        for one in {bar.key: bar for bar, _, _ in listed}.values():
            cuts = [(long, count) for bar, long, count in listed if bar.key == one.key]
            words = ", ".join(f"{count} of {long:.1f} mm" for long, count in sorted(cuts, reverse=True))
            note = f"to saw: {words}; bright, not hot rolled"
            rows.append(Row(f"{_called(one)}, 1 m long", stock_bars(cuts), "pieces", note, thing="bars"))
        rows.append(Row("two-part epoxy glue", 1, "pack", "steel on lid", thing="epoxy"))
        return tuple(rows)

    def record(self, design: Design) -> Mapping[str, object]:
        """Sections and lengths of all bars, and the weight on each lid of the film that is looked at."""
        return {
            "bars": {
                "place": "on" if self.on else "in",
                "cuts": [
                    {"bar": one.key, "length": long, "quantity": count}
                    for one, long, count in cut_list(steels(design))
                ],
                "weight_n": round(self.each_n, 4),
            }
        }


def steels(design: Design) -> tuple[Steel, ...]:
    """The bars on the lids of each kind of film."""
    return tuple(made for made in design.every_fitted if isinstance(made, Steel))


def cut_list(each: Sequence[Steel]) -> tuple[tuple[Bar, float, int], ...]:
    """Which bar, how long (mm), how many, of several kinds of lids together; short by a tenth rather than long."""
    found: dict[tuple[str, float], tuple[Bar, int]] = {}
    for steel in each:
        for one, places in ((steel.sides, steel.side_places), (steel.ends, steel.end_places)):
            for rect in places if one is not None else ():
                assert one is not None
                key = (one.key, int(10 * max(rect.width, rect.height) + 1e-6) / 10)
                found[key] = (one, found.get(key, (one, 0))[1] + 1)
    return tuple((one, long, count) for (_, long), (one, count) in found.items())


def _called(one: Bar) -> str:
    return f"steel bar {measure(one.width_mm)} x {measure(one.height_mm)} mm"


def stock_bars(cuts: list[tuple[float, int]]) -> int:
    """How many bars of a metre those cuts take, the longest first, each where it fits first, a saw's width between."""
    left: list[float] = []
    for long in sorted((long for long, count in cuts for _ in range(count)), reverse=True):
        for k, rest in enumerate(left):
            if rest >= long:
                left[k] = rest - long - SAW_MM
                break
        else:
            left.append(STOCK_MM - long - SAW_MM)
    return len(left)
