"""Warmth and damp: softening, growth against clearances, and the bow of a holder with one warm or damp face."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from holders.checks.base import FLAT, TRIED, Rule, at_least, at_most
from holders.core.findings import Finding
from holders.design.model import Design
from holders.facts.damp import HUMIDITY_SWING, swelling_mm
from holders.facts.habits import habit
from holders.facts.models import Bed, FilmFormat, Material
from holders.facts.tables import table
from holders.workshop.budget.contributors import sheets_below
from holders.workshop.stiffness.warm import (
    DAMP_FACE,
    SESSION_HOURS,
    Growth,
    WarmBow,
    Warmth,
    damp_bow,
    growths,
    warm_bow,
    warmth,
)

if TYPE_CHECKING:
    from holders.preset.resolve import Job

MARGIN_K = 10.0
SWOLLEN = 0.2  # of half the focus band, by the sheets' swelling


class Softening(Rule):
    """Softening margin near a warm lamp."""

    code = "softening"
    title = "warmest the holder gets"
    why = (
        "a holder that softens on a warm scanner creeps under its own weight and takes the film's "
        "flatness with it"
    )
    source = (
        "deflection and glass temperatures from the material's own row, with their test; room 2 K and lamp 3 K "
        "uncertain, 10 K of margin: common practice, no source; stiffness left: Findley's power law of creep (from "
        "memory)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """Room temperature and the lamp's rise against the material's limit, and against its softening test."""
        found, material = warmth(job), job.material
        level = at_most(found.warmest_c, found.limit_c - MARGIN_K, found.limit_c)
        yield self.found(
            level,
            measured=found.warmest_c,
            limit=found.limit_c - MARGIN_K,
            unit="°C",
            where=(
                f"{material.name}: room {job.preset.room.ambient_c:g} °C and lamp {job.bed.lamp_rise_k:g} K, "
                f"± {found.sigma_k:.1f} K; limit {found.limit_c:g} °C, "
                f"{_percent(found.chance_over_limit)} likely to be exceeded"
            ),
            advice=""
            if level == "pass"
            else _cooler(job.preset.route, lambda one: warmth(replace(job, material=one))),
            field="material.name",
        )
        yield self._margin(job)

    def _margin(self, job: Job) -> Finding:
        """How far below softening, by the test that names it, and what is left of the stiffness."""
        title = "margin to softening"
        found, material = warmth(job), job.material
        if found.soft_margin_k is None:
            return self.skipped(f"{material.name} {found.method}{_left(found.modulus_left)}", title)
        level = at_least(found.soft_margin_k, MARGIN_K, 0.0)
        return self.found(
            level,
            title=title,
            measured=found.soft_margin_k,
            limit=MARGIN_K,
            unit="K",
            where=f"softens at {found.softening_c:g} °C by the test {found.method}{_left(found.modulus_left)}",
            advice=""
            if level == "pass"
            else _cooler(job.preset.route, lambda one: warmth(replace(job, material=one))),
            field="material.name",
        )


def _cooler(route: str, warmth_of: Callable[[Material], Warmth]) -> str:
    """What to do about too much warmth: materials made alike that pass this very check, else to let it cool."""
    from holders.workshop.cost import plain_name  # noqa: PLC0415 - loads numpy, which a list of checks needs not

    cool = "let the scanner cool between scans, and look at the holder after the first hour"
    rows = [one for one in table("materials") if isinstance(one, Material)]
    made = [one for one in rows if route in one.routes and one.laser != "forbidden"]
    stand = [plain_name(one) for one in made if _stands(warmth_of(one))]
    if not stand:
        return cool
    names = f"{', '.join(stand[:-1])} or {stand[-1]}" if len(stand) > 1 else stand[0]
    return f"take {names}, which this check passes at the same warmth; else {cool}"


def _stands(found: Warmth) -> bool:
    soft = MARGIN_K if found.soft_margin_k is None else found.soft_margin_k
    return found.warmest_c <= found.limit_c - MARGIN_K and soft >= MARGIN_K


def _left(left: tuple[float, float] | None) -> str:
    if left is None:
        return "; nothing is left of its stiffness"
    return (
        f"; after {SESSION_HOURS:g} h so warm and loaded {left[0]:.0%} of its stiffness is left, "
        f"after 1000 h {left[1]:.0%}"
    )


def _percent(share: float) -> str:
    return "under 0.1 %" if share < 0.001 else f"{100 * share:.1f} %"


class Expansion(Rule):
    """Growth of the holder against the slide-in gap, and of the film against its pocket."""

    code = "expansion"
    per_film = True
    title = "growth by warmth and damp"
    why = (
        "a holder that grows jams against the rim of the glass; film that grows more than its pocket buckles"
    )
    source = (
        "L (alpha dT + beta dRH), arithmetic; coefficients from the rows of material and base; "
        "a swing of 20 % relative humidity: common practice, no source; thickness swelling: the material's row"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Each against the room it has."""
        found, material = growths(job, design), job.material
        rims = [g for g in found if "rim" in g.what]
        pockets = [g for g in found if "pocket" in g.what]
        yield self._grown(job.bed, job.film, material, min(rims, key=_left_over), share=0.5)
        if pockets:
            yield self._grown(job.bed, job.film, material, min(pockets, key=_left_over), share=1.0)
        else:
            yield self.skipped("no film", "growth of the film in its pocket")
        if job.printer is None and material.family in ("wood", "board"):
            yield self._swollen(job.bed, design, material)

    def _swollen(self, bed: Bed, design: Design, material: Material) -> Finding:
        """How much the sheets under the film swell or shrink in thickness, against half the focus band."""
        thick, title = sum(sheets_below(design)), "height of the ledge in damp air"
        damp = swelling_mm(material, thick)
        if damp == 0:
            known = (
                f"how much {material.name} swells in thickness is not published: measure a sheet on a damp "
            )
            return self.skipped(f"{known}and on a dry day", title)
        limit = SWOLLEN * bed.focus_band_mm
        level = at_most(damp, limit, math.inf)
        return self.found(
            level,
            title=title,
            measured=damp,
            limit=limit,
            where=(
                f"{thick:.2f} mm of {material.name} under the film: {damp:.3f} mm higher in air {HUMIDITY_SWING:g} % "
                "damper, as much lower in drier air; counted in the chance"
            ),
            advice="" if level == "pass" else "measure the ledge on a day as damp as those on which you scan",
            field="material.name",
        )

    def _grown(self, bed: Bed, film: FilmFormat, material: Material, worst: Growth, share: float) -> Finding:
        """Half the room in the rim, all of it in the pocket, where the film's own tolerance is further room."""
        rim = share < 1
        limit = share * worst.room_mm
        stop = worst.room_mm if rim else worst.room_mm + film.tolerance_mm
        if worst.by_warmth_mm > worst.by_damp_mm:
            advice = "a wider gap" if rim else "more clearance round the film"
            advice += ", or a material that grows less when warm"
        elif rim:
            advice = f"let it take the air of the room by the scanner for {_damp_wait(material)}, then judge the fit"
        else:
            advice = "let film and holder take the air of the room before you lay the film in"
        level = at_most(worst.growth_mm, limit, stop)
        return self.found(
            level,
            title="growth of the holder in the glass's rim" if rim else "growth of the film in its pocket",
            measured=worst.growth_mm,
            limit=limit,
            where=(
                f"{worst.size_mm:.1f} mm {worst.way}: {worst.by_warmth_mm:.3f} mm by {bed.lamp_rise_k:g} K, "
                f"{worst.by_damp_mm:.3f} mm by {HUMIDITY_SWING:g} % humidity{_without_damp(material)}; "
                f"the gap is {worst.room_mm:.2f} mm"
            ),
            advice="" if level == "pass" else advice,
            field="layout.slide_gap_mm" if rim else "layout.clearance_mm",
        )


def _damp_unknown(material: Material) -> bool:
    """Whether the row's 0 stands for growth by damp that nobody has published."""
    to_measure = {source.value for source in material.sources if source.status == "measure it"}
    return material.moisture_strain_per_rh == 0 and "moisture_strain_per_rh" in to_measure


def _without_damp(material: Material) -> str:
    return f" (what {material.name} grows by damp is not known)" if _damp_unknown(material) else ""


def _damp_wait(material: Material) -> str:
    """How long a part takes to have the room's damp through and through, in words."""
    days = habit("damp-days-acrylic" if material.family == "acrylic" else "damp-days")
    return "a day" if days == 1 else f"{days:g} days"


def _left_over(grown: Growth) -> float:
    return grown.room_mm - grown.growth_mm


class Bow(Rule):
    """Bow of the holder with one face warmer or damper than the other."""

    code = "bow"
    title = "bow of the holder with one warm face"
    why = (
        "the lit face grows more than the other, as board does that is damp on one side; the holder bows like a "
        "bimetal and lifts film out of the focus band"
    )
    source = (
        "curvature alpha dT / t: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells; Roark's Formulas for "
        "Stress and Strain (from memory; exact for a linear gradient); pressed back by its own weight on glass or "
        "feet: beam with one-sided contact, in closed form; 5 % humidity between faces: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """What the middle lifts over the whole length as the holder lies, from the warm and from the damp face.

        It warns but never stops: real lamps warm a holder slowly and nearly through.
        """
        warm = f"{job.bed.face_difference_k:g} K between faces"
        yield self._bowed(
            warm_bow(job, design), design, self.title, warm, f"let the lamp warm up before you scan; {TRIED}"
        )
        title = "bow of the holder with one damp face"
        if job.material.moisture_strain_per_rh == 0:
            why = "what it grows is not known" if _damp_unknown(job.material) else "it does not grow"
            yield self.skipped(f"{job.material.name} in damp air: {why}", title)
            return
        damp = f"{DAMP_FACE:g} % humidity between faces"
        wait = _damp_wait(job.material)
        lie = f"let it lie flat beside the scanner for {wait}, so that both faces take the air of the room"
        yield self._bowed(damp_bow(job, design), design, title, damp, lie)

    def _bowed(self, bow: WarmBow, design: Design, title: str, cause: str, cure: str) -> Finding:
        limit = FLAT * design.heights.half_band
        level = at_most(bow.lift_mm, limit, math.inf)
        lies = "between its feet" if bow.feet_mm is not None else "on the glass, under its own weight"
        return self.found(
            level,
            title=title,
            measured=bow.lift_mm,
            limit=limit,
            where=(
                f"{cause}: free bow {bow.free_mm:.2f} mm, {bow.corner_mm:.2f} mm to the corners; it lifts this far "
                f"lying {lies}, {bow.used:.0%} of the ±{design.heights.half_band:.2f} mm that stay sharp"
            ),
            advice="" if level == "pass" else cure,
            field="material.name",
        )
