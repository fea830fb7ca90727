"""The lid of a design: what presses on the film, and what it adds to the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from holders.core.lines import Caution, Row
from holders.design.model import Design, Fitted
from holders.design.parts.roles import own_lids
from holders.design.parts.steel import bars_of
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.tables import hazard
from holders.fittings.lid.frame import lid_hold, lid_lips
from holders.fittings.lid.table import Lid
from holders.fittings.lid.weights import PairOfBars
from holders.preset.resolve import Job
from holders.preset.tables.plain import table_of

if TYPE_CHECKING:
    from holders.film.models import Support


MAGNETS = (
    "Small magnets are dangerous when swallowed (see a doctor at once): keep them from "
    "children. Keep them away from bank cards and disks; they snap together and splinter: "
    "guard eyes and fingers. "
)


@dataclass(frozen=True, slots=True)
class LidFrame(Fitted):
    """The lid of a design, mm: room between film and lid, and the printed shoulder beside the film above the ledge."""

    play: float
    shoulder: float | None = None
    rim: float = 0.0  # how far its rim over that shoulder stands above its underside
    tabbed: bool = False  # whether it has a tab to lift it by
    opened: bool = False  # whether that tab closes a thumb opening below the film's end
    undercut: bool = False  # whether a finger goes under its sides
    grip_mm: float = 0.0  # how far a grip that is glued on it stands above the frame
    barred: bool = False  # whether steel bars lie on it that a hand takes it by
    extra_n: float = 0.0  # what the preset says that presses on each lid besides its weight and magnets
    laid: PairOfBars | None = None  # the bars that weigh so much, where two lie wholly on its rails
    tabs: int = 2  # of each lid, where it has some; the least
    tight: bool = False  # whether a notch has too little room beside its tab for a fingertip

    on_film: ClassVar[str] = "lid"
    brief: ClassVar[str] = "lid"
    holds_film: ClassVar[bool] = True
    step_picture: ClassVar[str] = "magnet"
    lower_key: ClassVar[str] = "lid.thickness_mm"
    stiff_key: ClassVar[str] = "lid.thickness_mm"

    def levels(self, ledge_mm: float) -> tuple[tuple[str, float], ...]:
        """Where the printed shoulder ends that the lid rests on."""
        return () if self.shoulder is None else (("shoulder", ledge_mm + self.shoulder),)

    @property
    def proud_mm(self) -> float:
        """How far its grips stand above the frame."""
        return self.grip_mm if self.tabbed else 0.0

    def support(self, job: Job, design: Design) -> Support | None:
        """Film between ledge and lid, which its weight and magnets keep down."""
        from holders.design.held.held_film import lips_of  # noqa: PLC0415 - numpy
        from holders.film.models import Kind, Support  # noqa: PLC0415

        table, lips = table_of(job.preset, Lid), design.mine[0].lips
        assert table is not None
        mine = own_lids(design)
        under = [part.z0 for part in mine]
        hold = None
        if under:
            depth = min(under) - design.heights.drawn_ledge
            steel = sum(bar.weight_n for bar in bars_of(design))
            hold = lid_hold(job.material, job.printer, table, mine, len(design.mine), depth, steel)
        return Support(
            kind=Kind.LID,
            ledge_height_mm=design.heights.ledge_above_glass,
            lips=lips_of(lips),
            lid_lips=lips_of(lid_lips(table, lips)),
            lid_play_mm=self.play,
            hold=hold,
        )

    def pressing_n(self, job: Job, design: Design) -> float:
        """What presses on all lids besides."""
        table = table_of(job.preset, Lid)
        return 0.0 if table is None else table.extra_weight_n * len(design.windows)

    def cautions(self, job: Job) -> tuple[Caution, ...]:
        """Magnets, where it has some."""
        table = table_of(job.preset, Lid)
        if table is None or table.magnets == 0:
            return ()
        return (Caution("magnets", "Magnets", MAGNETS + hazard("magnets").words),)

    def loading(self, what: str) -> tuple[str, ...]:
        """The last step over the film, and how lid and film come out again."""
        how = "lift it by a strip of strong tape folded over its edge"
        if self.tabbed:
            hold = "put thumb and finger into the notch on both sides of a tab"
            if self.undercut:
                hold += ", their tips under its sides"
            elif self.proud_mm > 0:
                hold = "take a tab's grip between thumb and finger"
            rest = "then the other" if self.tabs > 1 else "and the rest of the lid after it"
            how = f"{hold}, lift that end straight up, {rest}"
            if self.tight:
                how += " (where a notch is too small for a fingertip, by strong tape folded over its tab)"
        if self.barred:
            how = "take it by the steel bars at two opposite sides, lift it straight up"
        out = "by its edge at the notch, with a nail or a folded card"
        if self.opened:
            out = "off the scanner: a fingertip up through the opening under its edge, the thumb on top"
        laid = "; do not press."
        if self.extra_n > 0:
            what_on = (
                f"lay {grams(self.extra_n)} along its rails, clear of the window (of flat bars whose outer edge leans "
                "on the frame twice as much)"
            )
            if self.laid is not None:
                what_on = (
                    f"lay two of the steel bars on it, one along each long rail, half a millimetre or more back from "
                    f"the window ({grams(self.extra_n)} together)"
                )
            laid = f", then {what_on}: with that weight on it the film was computed."
            how = f"take the {'weight' if self.laid is None else 'bars'} off; {how}"
        return (
            f"Lower the lid frame onto the {what}{laid} To open it again: {how}; then lift the {what} {out}.",
        )

    def making(self, design: Design) -> tuple[str, ...]:
        """Sawing the bars that lie on it, gluing magnets in, and grips on."""
        laid: tuple[str, ...] = ()
        if self.laid is not None:
            laid = (
                f"Saw the steel bars that lie on each lid to {self.laid.length_mm:g} mm, file their edges and corners "
                "round, and paint or tape them matt black. Never glue them on: they lie there by their weight.",
            )
        if self.proud_mm > 0:
            return (
                *laid,
                "Glue a grip on each of the lid's tabs, flush with its end or a little behind, never over it.",
            )
        if not any(cut.magnet for part in design.parts for cut in part.cuts):
            return laid
        return (
            *laid,
            "Glue the frame's magnets in with super glue, flush or deeper, and let them set. Let each of the "
            "lid's jump onto "
            "its partner, "
            "mark its upper side with a pen, and glue it into the lid with that side up, so that the pair attracts.",
        )

    def gluing(self) -> str:
        """The shoulder stays clean."""
        return "Keep glue off the shoulder that the lid rests on."

    def takes(self, design: Design) -> tuple[str, ...]:
        """Weights, magnets and their glue, and what lifts a lid without tabs or film without an opening."""
        pits = any(cut.magnet for part in design.parts for cut in part.cuts)
        return (
            *(("glue",) if self.proud_mm > 0 else ("magnets", "super-glue", "pen") if pits else ()),
            *(("weights",) if self.extra_n > 0 else ()),
            *(("saw", "file", "black") if self.laid is not None else ()),
            *(() if self.tabbed and (self.barred or not self.tight) else ("strong-tape",)),
            *(() if self.opened else ("spare-card",)),
        )

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:
        """Magnets, and what the preset says that lies on each lid."""
        table = table_of(job.preset, Lid)
        pits = sum(part.quantity for part in design.parts for cut in part.cuts if cut.magnet)
        rows: tuple[Row, ...] = ()
        if self.extra_n > 0:
            what, count = f"weight of {grams(self.extra_n)} to lie on a lid's rails", len(design.windows)
            note = (
                f"or what else presses with {self.extra_n:g} N; bars leaning on the frame: twice as much; matt black, "
                "taped over where sharp"
            )
            if self.laid is not None:
                what, count = self.laid.called, 2 * count
                note = (
                    f"two lie on each lid, {grams(self.extra_n)} together; or what else weighs as much along its long "
                    "rails"
                )
            rows = (Row(what, count, "pieces", note, thing="weights"),)
        if table is None or not pits:
            return rows
        size = f"{table.magnet_diameter_mm:g} x {table.magnet_thickness_mm:g} mm"
        note = "keep from children and pacemakers; mind which pole faces up"
        return (*rows, Row(f"disc magnets, {size}", pits, "pieces", note, thing="magnets"))


def grams(newtons: float) -> str:
    """The mass that weighs so much, to the gram."""
    return f"{1000 * newtons / GRAVITY_M_S2:.0f} g"
