"""Heights: does the picture land in the focus band, and what rounding to layers or sheets costs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import TRIED, Rule, at_least, at_most
from holders.core.findings import Finding
from holders.design.height.printed import layers_in
from holders.design.height.stacks import StackChoice, choice_of, glue_of, nominal_sheet, rank
from holders.design.height_sum import Heights
from holders.design.model import HEIGHT_CELLS, Design
from holders.design.sag import NoSag, Sag
from holders.facts.curl_words import curl_words
from holders.facts.models import Material
from holders.facts.rise_names import COLD_SAG, WARM_BOW
from holders.workshop.budget.contributors import contributors_of, plane_sigma_mm, sheets_below
from holders.workshop.budget.tolerance import SHARP_SHARE, standard_deviation
from holders.workshop.stock import StockAnswer, make_up, pile, stacks_for

if TYPE_CHECKING:
    from holders.preset.resolve import Job
    from holders.preset.tables.plain import PlainPreset

WHOLE = 1e-3  # of a layer
COSTLY = 0.5  # share of the band's half width that rounding alone may take
SIGMAS = 2.0
PLATE = "measure the plate's thickness and set film.thickness_mm"
IN_BAND_GOOD, IN_BAND_POOR = SHARP_SHARE, 0.5
WARM = "share in focus of the film on the warm bed"


class Layers(Rule):
    """Printed heights on whole layers."""

    code = "layers"
    per_film = True
    title = "heights in whole printer layers"
    why = (
        "a slicer makes every height of its first layer and whole layers above it, so a ledge between two of them "
        "moves the film out of focus unseen"
    )
    source = "common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """What rounding the ledge to layers cost; whether the foot recess is of whole layers."""
        step = design.heights.step
        if job.printer is None or step <= 0:
            yield self.skipped("not printed")
            return
        heights = design.heights
        if (
            design.feet and design.foot_recess > 0
        ):  # the only height that the preset may set between two layers
            layers = layers_in(job.printer, design.foot_recess)
            off = abs(layers - round(layers))
            yield self.found(
                "pass" if off <= WHOLE else "warn",
                title="foot recess in whole layers",
                measured=layers,
                limit=float(round(layers)),
                unit="layers",
                advice=""
                if off <= WHOLE
                else f"the slicer will move it by {off * step:.2f} mm; take the first layer of "
                f"{job.printer.first_layer_mm:g} mm and a multiple of {step:g} mm",
                field="feet.recess_mm",
            )
        yield _rounding(self, heights, "ledge rounded to whole layers", TRIED, "printer.layer_mm")


class Stock(Rule):
    """The ledge as a stack of sheets."""

    code = "stock"
    per_film = True
    title = "ledge height from the sheets at hand"
    why = "sheets come in few thicknesses and vary within their tolerance: what they miss is missed in focus"
    source = (
        "arithmetic, every stack of up to four sheets with its glue lines; sheet tolerances from the material's own "
        "row (cast acrylic: ISO 7823-1, read second-hand); glue line: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Whether each slab is a sheet, what the stack misses and how it ranks, and what tolerances may add."""
        if job.printer is not None:
            yield self.skipped("printed, not cut from sheets")
            return
        heights = design.heights
        yield self._sheets(job.material, job.preset, design)
        yield _rounding(
            self, heights, "ledge made of whole sheets", make_up(job, design) or TRIED, "material.sheets_mm"
        )
        if not (job.preset.material.sheets_mm or job.material.stock_mm):
            return
        answer = stacks_for(job, design)
        number, choice = _place_of(job.material, design, answer)
        yield self._rank(answer, number, choice)
        yield self._spread(job.preset, design, choice)

    def _rank(self, answer: StockAnswer, number: int, choice: StackChoice) -> Finding:
        """How the stack that was built ranks, what would be better, and what one more sheet would change."""
        best = rank(choice)[:2] <= rank(answer.best)[:2]
        reached = answer.found or answer.target.empty
        better = (
            ""
            if best
            else f"better: {pile(answer.best)}, {answer.best.error_mm:+.2f} mm from the best height; "
        )
        more = answer.one_more
        advice = "" if best else f"stack {pile(answer.best)} instead"
        if not reached:
            advice = (
                f"get a sheet of {more.thickness_mm:g} mm"
                if more is not None and more.choice.in_band
                else TRIED
            )
        return self.found(
            "pass" if best and reached else "warn",
            title="how the stack of sheets ranks",
            measured=number,
            limit=1,
            unit=f"of {len(answer.choices)} stacks",
            where=f"{better}{answer.verdict}",
            advice=advice,
            field="material.sheets_mm",
        )

    def _spread(self, preset: PlainPreset, design: Design, choice: StackChoice) -> Finding:
        half = design.heights.half_band
        level = at_most(choice.spread_mm, COSTLY * half, math.inf)
        glue = f", glue lines {design.heights.glue:.2f} mm of it" if choice.layers > 1 else ""
        sheets = "measured" if preset.material.sheets_mm else "nominal, within the tolerance of their kind"
        return self.found(
            level,
            title="spread of the sheets' thickness",
            measured=choice.spread_mm,
            limit=COSTLY * half,
            where=f"below the film {choice.total_mm:.2f} mm, sheets {sheets}{glue}; at worst ±{choice.worst_mm:.2f} mm",
            advice=""
            if level == "pass"
            else "measure your sheets with a caliper and list them in the preset",
            field="material.sheets_mm",
        )

    def _sheets(self, material: Material, preset: PlainPreset, design: Design) -> Finding:
        sheets = preset.material.sheets_mm or material.stock_mm
        if not sheets:
            return self.found(
                "stop",
                measured="none",
                advice="measure the sheets you have and list them",
                field="material.sheets_mm",
            )
        slabs = [
            (min(abs(slab.z1 - slab.z0 - t) for t in sheets), slab, part)
            for part in design.parts
            for slab in part.slabs
        ]
        off, slab, part = max(slabs, key=lambda item: item[0])
        return self.found(
            "pass" if off <= WHOLE else "stop",
            title="every slab is a sheet",
            measured=slab.z1 - slab.z0,
            limit=min(sheets, key=lambda t: abs(slab.z1 - slab.z0 - t)),
            where=part.title,
            advice=""
            if off <= WHOLE
            else f"no sheet is this thick; you have {', '.join(f'{t:g}' for t in sheets)} mm",
            field="material.sheets_mm",
        )


def _place_of(material: Material, design: Design, answer: StockAnswer) -> tuple[int, StackChoice]:
    """The place of the stack that was built among all of them, and what it does."""
    built = sorted(sheets_below(design), reverse=True)
    for number, choice in enumerate(answer.choices, 1):
        pairs = zip(built, choice.sheets_mm, strict=False)
        if len(built) == choice.layers and all(abs(a - b) < WHOLE for a, b in pairs):
            return number, choice
    picked = [nominal_sheet(material, t) for t in built or [design.heights.ledge_height]]
    choice = choice_of(picked, answer.target, glue_of(material))
    return 1 + sum(rank(other) < rank(choice) for other in answer.choices), choice


def _rounding(rule: Rule, heights: Heights, title: str, advice: str, field: str) -> Finding:
    """What rounding the ledge moves it by, against half the focus band."""
    missed = abs(heights.ledge_height - heights.ledge_wanted)
    half = heights.half_band
    level = at_most(missed, COSTLY * half, half)
    return rule.found(
        level,
        title=title,
        measured=missed,
        limit=COSTLY * half,
        where=f"the picture stays sharp over ±{half:.2f} mm, all other doubts left aside",
        advice="" if level == "pass" else advice,
        field=field,
    )


class FocusError(Rule):
    """The middle of the film surface against the focus band."""

    code = "focus-error"
    per_film = True
    title = "film plane inside the focus band"
    why = (
        "outside the band the scan is soft; near its rim the uncertainty of heights and focus "
        "decides, which is luck"
    )
    source = (
        "arithmetic; two standard deviations of focus height, making, feet, glue and film together: common practice, "
        "no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Distance from the mean film height, half warm, to the band's nearer rim, against twice its uncertainty."""
        from holders.workshop.budget.framed import framed  # noqa: PLC0415 - numpy, shapely
        from holders.workshop.budget.middle import middle  # noqa: PLC0415 - the same

        heights = design.heights
        under = framed(job, design, HEIGHT_CELLS)
        found = middle(design, under)
        height = found.height_mm  # between cold and warm; half of what lies between is doubt
        margin = min(height - heights.band_low, heights.band_high - height)
        warm = standard_deviation([part for part in contributors_of(under) if not part.over_picture])
        doubt = SIGMAS * math.hypot(plane_sigma_mm(job, design), warm)
        level = at_least(margin, doubt, 0.0)
        off = height - heights.focus
        beyond = doubt > heights.half_band
        never = (
            f", more than the {heights.half_band:.2f} mm from the middle of the sharp heights to their ends: no ledge "
            "passes until more is measured"
        )
        yield self.found(
            level,
            measured=margin,
            limit=doubt,
            where=(
                f"film at {height:.2f} mm, best focus {heights.focus:.2f} ± "
                f"{heights.focus_sigma:.2f} mm ({off:+.2f} mm); {COLD_SAG} {found.frame_sag_mm:.2f} mm, "
                f"{WARM_BOW} {found.bow_mm:.2f} mm; the limit is twice the uncertainty of film, holder and focus"
                f"{never if beyond else ''}"
            ),
            advice="" if level == "pass" else self._advice(level, off, beyond),
            field="bed.focus_height_mm"
            if level == "warn"
            else "printer.layer_mm"
            if job.printer is not None
            else "material.sheets_mm",
        )

    @staticmethod
    def _advice(level: str, off: float, beyond: bool) -> str:
        if level == "warn" and beyond:
            return TRIED
        if level == "warn":
            return "measure the focus height of your own bed, and the finished holder with a caliper"
        return f"the film lies {abs(off):.2f} mm too {'high' if off > 0 else 'low'}; {TRIED}"


class SagInFocus(Rule):
    """How much of the sagging film is in focus, and how near it comes to the glass."""

    code = "sag"
    per_film = True
    title = "film surface in focus and off the glass"
    why = (
        "film sags between its edges: the middle may leave the focus band, or come so near the "
        "glass that rings appear"
    )
    source = (
        "film surface: plate theory (holders/film); rings need a gap within half the light's "
        "coherence length, some "
        "10 µm for a narrow-band lamp (computed, holders/film/rings); room for dust and doubt "
        "from the lamp's row, common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Share in the band, and the least gap."""
        sag = design.sag
        if sag is None:
            if design.no_sag is NoSag.UNSOLVED:
                yield self.found(
                    "warn",
                    where=design.no_sag_because,
                    advice="the height of the ledge is a guess until you have measured a scan",
                    field="base",
                )
                return
            yield self.skipped(
                design.no_sag_because or ("the film is rigid" if job.base.rigid else "not computed")
            )
            return
        level = at_least(sag.in_band_fraction, IN_BAND_GOOD, IN_BAND_POOR)
        yield self.found(
            level,
            title="share of the film surface in focus",
            measured=sag.in_band_fraction,
            limit=IN_BAND_GOOD,
            unit="of the picture",
            where=(
                f"on average it lies {abs(sag.mean_mm):.2f} mm {'below' if sag.mean_mm >= 0 else 'above'} its edges, "
                f"at most {max(0.0, sag.max_mm):.2f} mm below"
            ),
            advice="" if level == "pass" else PLATE if job.base.rigid else TRIED,
            field="ledge" if job.preset.ledge == "focus" else "lid",
        )
        yield from self._focus_ledge(job.preset, sag)
        yield from self._worst_film(sag)
        yield from self._warm_film(job, sag)
        least = sag.least_gap_mm
        level = at_least(sag.min_gap_mm, least, 0.0) if sag.min_gap_mm > 0 else "stop"
        yield self.found(
            level,
            title="least gap between film and glass",
            measured=sag.min_gap_mm,
            limit=least,
            unit="mm",
            where="below it rings or dust may show",
            advice="" if level == "pass" else TRIED,
            field="lid",
        )

    def _focus_ledge(self, preset: PlainPreset, sag: Sag) -> Iterator[Finding]:
        """What a ledge at the focus height, where the preset asks for one, costs."""
        if preset.ledge == "focus" and sag.best_fraction is not None:
            lost = sag.best_fraction - sag.in_band_fraction
            yield self.found(
                "pass" if lost <= 1 - IN_BAND_GOOD else "warn",
                title="what a ledge at the focus height costs",
                measured=lost,
                limit=1 - IN_BAND_GOOD,
                unit="of the picture out of focus",
                where=f"at its best height the ledge would leave {sag.best_fraction:.0%} in focus",
                advice="" if lost <= 1 - IN_BAND_GOOD else 'set ledge = "best"',
                field="ledge",
            )

    def _worst_film(self, sag: Sag) -> Iterator[Finding]:
        """The share in focus of the sensible extreme that does worst."""
        if sag.worst_fraction is not None:
            level = at_least(sag.worst_fraction, IN_BAND_POOR, 0.0)
            yield self.found(
                level,
                title="share in focus of the worst sensible film"
                if sag.curled
                else "film that is more curled",
                measured=sag.worst_fraction,
                limit=IN_BAND_POOR,
                unit="of the picture",
                where=sag.worst_case,
                advice=""
                if level == "pass"
                else "measure how curled your film is (holders curl) and set base.curl_per_m and its range",
                field="lid",
            )

    def _warm_film(self, job: Job, sag: Sag) -> Iterator[Finding]:
        """The share in focus of the film that has dried on the warm bed."""
        air = sag.warm
        if air is None or air.shown is None or air.shown.curl_per_m == job.base.curl_per_m:
            return
        curl = f"curl {curl_words(air.shown.curl_per_m, job.film.cut_width_mm, 1)}"
        level = at_least(air.shown.in_band_fraction, IN_BAND_GOOD, 0.0)
        at = air.leaves_at
        bare = "" if air.bare_chance == 1 else ", back bare"
        leaves = (
            ""
            if at is None
            else f"; it leaves the focus band at about {at * job.bed.lamp_rise_k:.0f} K over the room"
        )
        yield self.found(
            "warn" if level == "stop" else level,
            title=WARM,
            measured=air.shown.in_band_fraction,
            limit=IN_BAND_GOOD,
            unit="of the picture",
            where=f"air at {air.bed_percent:.0f} % humidity, {curl}{bare}{leaves}",
            advice="" if level == "pass" else TRIED,
            field="room.scan_when",
        )
