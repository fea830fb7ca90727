"""The lid frame among the fittings: what it changes while a holder is designed, and what it adds to one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from types import MappingProxyType

from holders.core.lines import Candidate, Choice
from holders.design.draft.levels import Levels
from holders.design.draft.notches import EVEN, Notch, deep_enough
from holders.design.draft.places import Layout, Step
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.design.model import EDGES, Cut
from holders.facts.habits import habit
from holders.facts.models import Material
from holders.facts.tables import process, table
from holders.fittings.bars.table import Bars, lies_on
from holders.fittings.base import Added, Fitting, Rivals, Stage
from holders.fittings.lid.bevel import bevel_of
from holders.fittings.lid.check import LidFit, LidFlat
from holders.fittings.lid.fitted import LidFrame, grams
from holders.fittings.lid.frame import lid_levels, lid_lips, lids, magnet_room_mm, magnets, needed_lip_mm
from holders.fittings.lid.table import Lid
from holders.fittings.lid.tabs import grip_sheet_mm, grips, tab_undercut_mm
from holders.fittings.lid.weights import pair_of_bars
from holders.geometry.outline import circle
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset, table_of
from holders.preset.words import Section

STIFF_LID_MM = 6.0  # printed; under a thinner one a frame as large as the bed hangs too far between its feet
MOST_LID_MM = 16.0
MAGNETS = (2, 4)
MOST_MAGNETS = MAGNETS[-1]
MUCH_HEAVIER = 1.1  # less would not be felt
LAID_N = (2.5, 5.0, 10.0)  # weights to lay on a lid: strips of steel that are at hand


class LidKind(Fitting[Lid]):
    """A frame that drops in on the film."""

    key = "lid"
    table = Lid
    section = Section(
        "lid",
        "Lid frame",
        ("extras", 3),
        intro="A frame that drops in on the film and holds it flatter.",
        heading="a lid frame on top of the film: take the # from [lid] and below to have one",
    )
    start = MappingProxyType(
        {"print": {"thickness_mm": STIFF_LID_MM, "play_mm": 0.0}, "": {"thickness_mm": 2.0}}
    )
    rules = (LidFit(), LidFlat())
    over_film = "lid"
    takes_mixed = True
    shape_keys = frozenset({"lip_mm"})
    pocket_key = "clearance_mm"

    def shoulder_mm(self, job: Job) -> float:
        """What a printed lid rests on; a cut one lies on the film."""
        return process(job.preset.route).shoulder_mm

    def lip_mm(self, job: Job) -> float:
        """What makes a lid of cut sheet wide enough: it reaches only as far over the film as the ledge below it."""
        if job.printer is not None:
            return 0.0
        return needed_lip_mm(job.material.min_web_mm, self.given(job), job.preset.layout.clearance_mm)

    def tabs(self, job: Job) -> int:
        """Its lift tabs."""
        return self.given(job).tabs

    def opening(self, job: Job) -> float | None:
        """Its first tab does, with room for magnets beside the opening."""
        return magnet_room_mm(self.given(job))

    def undercut_mm(self, job: Job) -> float:
        """So that a finger goes under its tabs, where it is printed and thick enough."""
        return tab_undercut_mm(job.printer, self.given(job).thickness_mm)

    def levels(self, job: Job, layout: Layout, plain: Levels) -> Levels:
        """A wall as high as shoulder and lid."""
        return lid_levels(job, self.given(job), plain, layout)

    def fit(self, job: Job, stage: Stage) -> Added:
        """The lids, and pockets for their magnets in the frame."""
        lid, layout, levels = self.given(job), stage.layout, stage.levels
        assert levels.over is not None
        assert levels.play is not None
        reach, printed = lid_lips(lid, layout.lips), job.preset.route == "print"
        back = min(layout.lips.left - reach.left, layout.lips.right - reach.right)
        ends = min(layout.lips.head - reach.head, layout.lips.foot - reach.foot)
        pits = [
            magnets(lid, place, mine, levels, printed=printed)
            for place, mine in zip(layout.places, stage.notches, strict=True)
        ]
        ledge, stuff = levels.ledge, (job.preset.route, job.material.key)
        lean = bevel_of(job.printer, lid, layout, [reach.of(edge) for edge in EDGES], levels)
        none_wanted = job.printer is not None or levels.over is None
        sheets = () if none_wanted else sheet_thicknesses(job.material, job.preset)
        barred = _barred(job)
        thick = None if barred else grip_sheet_mm(sheets, job.bed.lid_room_mm, levels)
        made = lids(job, lid, layout, stage.notches, levels)
        room = job.bed.lid_room_mm - max(levels.top, levels.over[1])
        on_tabs = () if thick is None else grips(thick, stuff, lid, layout, stage.notches, levels)
        return Added(
            LidFrame(
                levels.play,
                None if levels.shoulder is None else levels.shoulder - ledge,
                levels.rim,
                any(notch.tab_mm > 0 for mine in stage.notches for notch in mine),
                all(any(notch.through_mm > 0 for notch in mine) for mine in stage.notches),
                all(any(notch.undercut_mm > 0 for notch in mine) for mine in stage.notches),
                0.0 if thick is None else levels.over[1] + levels.glue + thick - levels.top,
                barred,
                lid.extra_weight_n,
                pair_of_bars(lid.extra_weight_n, made, room) if lid.extra_weight_n > 0 else None,
                *_tabbed(stage.notches),
            ),
            parts=(*made, *on_tabs),
            cuts=tuple(
                Cut("magnet", circle(x, y, pit.radius), ledge - pit.depth, ledge, magnet=pit.size)
                for pit in pits
                for x, y in pit.spots
            ),
            shades=(Step(levels.over[1] - ledge, back, ends),)
            if lean is None
            else (
                Step(lean.z0 - ledge, back, ends),
                Step(levels.over[1] - ledge, back + lean.back, ends + lean.back),
            ),
            scoops=lid.magnets == 0,  # the tab's magnets take the floor of the notch
        )

    def changes(self, job: Job, rivals: Rivals) -> Iterator[Candidate]:
        """A lid where nothing lies on the film; a heavier one, one without play, with magnets, or with a weight."""
        lid, printed = table_of(job.preset, Lid), job.printer is not None
        if lid is None:
            if not rivals.there:
                thick = STIFF_LID_MM if printed else process(job.preset.route).pocket_depth_mm
                yield Candidate(
                    "Add a lid frame that rests on the film",
                    {"lid.thickness_mm": thick, "lid.play_mm": 0.0},
                    "hold",
                )
            return
        if printed and lid.play_mm > 0:
            yield Candidate("Let the lid rest on the film, without play", {"lid.play_mm": 0.0}, "hold")
        for more in (2.0, 4.0, 8.0):
            thick = lid.thickness_mm + more
            # a cut lid's rails, hardly wider than its lip, are not to be narrower than they are thick
            if thick <= (MOST_LID_MM if printed else lid.lip_mm):
                yield Candidate(f"Make the lid {thick:g} mm thick, so that it weighs more",
                                {"lid.thickness_mm": thick, "lid.play_mm": 0.0}, "hold")  # fmt: skip
        for count in MAGNETS if printed else ():
            if count > lid.magnets:
                yield Candidate(f"Hold the lid down with {count} magnets",
                                {"lid.magnets": count, "lid.play_mm": 0.0}, "hold")  # fmt: skip
        heavy = heavier_than(job.preset, job.material)
        if heavy is not None:
            yield Candidate(f"Make it of {heavy.name}, so that the lid weighs more",
                            {"material.name": heavy.key, "lid.play_mm": 0.0}, "material")  # fmt: skip
        heavier = next((n for n in LAID_N if n > lid.extra_weight_n), None)
        if (
            not printed and heavier is not None and table_of(job.preset, Bars) is None
        ):  # a cut lid weighs a few grams and has no magnets
            changes: dict[str, object] = {"lid.extra_weight_n": heavier, "lid.play_mm": 0.0}
            words = f"Lay {grams(heavier)} on each lid, along its rails"
            sheet = nearest_sheet(sheet_thicknesses(job.material, job.preset), lid.thickness_mm)
            deep = job.preset.layout.pocket_depth_mm
            if deep is None or deep > sheet:  # a weight would lie on the frame
                words, changes["layout.pocket_depth_mm"] = f"{words}, and make the frame's wall as low", sheet
            yield Candidate(words, changes, "hold")
        yield Candidate(
            "Let the lid reach 1 mm farther over the film", {"lid.lip_mm": lid.lip_mm + 1}, "hold"
        )

    def choices(self, job: Job, rivals: Rivals) -> Iterator[Choice]:
        """A lid of usual weight; printed also a heavy one and one with magnets, cut one with a weight laid on it. None
        has play.
        """
        lid, printed = table_of(job.preset, Lid), job.printer is not None
        base = STIFF_LID_MM if printed else 2.0
        thick = base if lid is None else lid.thickness_mm
        rest: dict[str, object] = {**rivals.away, "lid.play_mm": 0.0}
        yield Choice(f"a lid of {thick:g} mm that rests on the film", rest | {"lid.thickness_mm": thick})
        if not printed:
            yield Choice(
                f"a lid of {thick:g} mm with {grams(LAID_N[0])} laid along its rails",
                rest | {"lid.thickness_mm": thick, "lid.extra_weight_n": LAID_N[0]},
                "weight",
            )
        else:
            heavy = min(MOST_LID_MM, thick + 4)
            yield Choice(f"a lid of {heavy:g} mm that rests on the film", rest | {"lid.thickness_mm": heavy})
            yield Choice(
                f"a lid of {thick:g} mm with {MOST_MAGNETS} magnets",
                rest | {"lid.thickness_mm": thick, "lid.magnets": MOST_MAGNETS},
                "magnets",
            )


def _tabbed(notches: Sequence[Sequence[Notch]]) -> tuple[int, bool]:
    """How many tabs each lid has, the least of them, and whether a fingertip finds too little room beside one."""
    found = [[notch for notch in mine if notch.tab_mm > 0] for mine in notches]
    room = habit("gloved-finger") - EVEN
    tight = any(notch.beside_mm < room or not deep_enough(notch) for mine in found for notch in mine)
    return min((len(mine) for mine in found), default=0), tight


def _barred(job: Job) -> bool:
    """Whether steel bars lie on the lid, by which it is lifted."""
    bars = table_of(job.preset, Bars)
    return bars is not None and lies_on(bars, printed=job.printer is not None)


def heavier_than(preset: PlainPreset, own: Material) -> Material | None:
    """The heaviest material of the holder's route that may be cut without asking and weighs more than its own.

    None where there is none, or where the preset says more of its material than its name and finish: measured sheets
    and prices are of that one alone.
    """
    told = preset.material.model_fields_set - {"name", "finish"}
    if any(getattr(preset.material, key) for key in told):
        return None
    route = preset.route
    others = [
        row
        for row in table("materials")
        if isinstance(row, Material)
        and route in row.routes
        and not row.compressible
        and (route != "laser" or row.laser == "allowed")
        and row.density_kg_m3 > MUCH_HEAVIER * own.density_kg_m3
    ]
    return max(others, key=lambda row: row.density_kg_m3, default=None)
