"""Film between two glasses: rings at both faces, whether the upper plate keeps the film flat, light past the film."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import TRIED, FittedRule, at_least, at_most
from holders.core.findings import CONTRAST, Finding
from holders.design.model import Design
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.curl_words import curl_words
from holders.fittings.glasses.sandwich import Sandwich
from holders.fittings.glasses.words import SAID
from holders.fittings.on_glass import Face, touching_contrast

if TYPE_CHECKING:
    from holders.facts.models import FilmBase
    from holders.preset.resolve import Job

RESERVE = 2.0  # weight over what the film needs: common practice, no source
GRAINY = "etched glass below the film is seen through: its texture may show as grain"


class GlassesRule(FittedRule[Sandwich]):
    """Two plates of glass and what touches between them."""

    code = "two-glasses"
    title = "film between two glasses"
    why = "film that touches plain glass gives Newton's rings, and curled film lifts a light plate"
    source = (
        "ring contrast: Fresnel's reflectance at normal incidence (holders/film/rings), 0.5 % left by a coating from "
        "memory, none at an etched face: common practice, no source; force that flattens curled film: beam bent by a "
        "load in its middle (any handbook); twice that: common practice, no source"
    )
    said = SAID
    fitted = Sandwich
    absent = "the holder has no two glasses"

    def look(self, job: Job, design: Design, made: Sandwich) -> Iterator[Finding]:  # noqa: ARG002
        """Rings below and above, the texture below, the upper plate's weight, and light past the film."""
        from holders.design.held.held_film import facing_index  # noqa: PLC0415 - numpy
        from holders.facts.tables import lamp  # noqa: PLC0415

        limit = float(lamp(job.bed.lamp).ring_contrast)
        for up, face in ((False, made.table.face_below), (True, made.table.face_above)):
            seen = touching_contrast(facing_index(job.own_base, job.preset, up=up), face)
            emulsion = (job.preset.film.emulsion == "up") == up
            yield self._rings(face, seen, limit, up=up, side="emulsion" if emulsion else "base")
        yield self._texture(made.table.face_below)
        yield self._weight(job.own_base, made)
        yield self._light(made)

    def _rings(self, face: Face, seen: float, limit: float, *, up: bool, side: str) -> Finding:
        which = "upper" if up else "lower"
        level = at_most(seen, limit, math.inf)
        return self.found(
            level,
            title=f"rings between film and {which} glass",
            measured=seen,
            limit=limit,
            unit=CONTRAST,
            where=f"{face} face on the film's {side} side"
            + ("; taken to give none: common practice, no source" if face == "etched" else ""),
            advice=""
            if level == "pass"
            else "an etched face there, or film laid in fluid (wet mounting), which leaves no air"
            if up
            else "an etched face gives no rings there but shows as grain; film in fluid (wet mounting) gives neither",
            field=f"glasses.face_{'above' if up else 'below'}",
        )

    def _texture(self, face: Face) -> Finding:
        etched = face == "etched"
        return self.found(
            "warn" if etched else "pass",
            title="texture between lens and film",
            measured=f"{face} face",
            limit="a smooth one",
            unit="",
            where=GRAINY if etched else "",
            advice="look at a scan of clear film first, or lay the film in fluid (wet mounting)"
            if etched
            else "",
            field="glasses.face_below",
        )

    def _weight(self, base: FilmBase, made: Sandwich) -> Finding:
        """The upper plate's weight against what flattens the most curled film of its kind."""
        film, rect = made.films[0], made.uppers[0]
        volume = rect.width * rect.height * made.table.above_mm
        weight = volume * GLASS_KG_MM3 * GRAVITY_M_S2
        curl = max(abs(base.curl_low_per_m), abs(base.curl_high_per_m))
        short, long = sorted((film.width, film.height))
        need = flattening_n(base, curl, across_mm=short, along_mm=long)
        level = at_least(weight, RESERVE * need, -math.inf)
        return self.found(
            level,
            title="upper glass heavy enough",
            measured=weight,
            limit=RESERVE * need,
            unit="N",
            where=f"twice what film that curls {curl_words(curl, short)} takes, the most of its kind",
            advice=""
            if level == "pass"
            else f"thicker upper glass, or tape the plates together all round; {TRIED}",
            field="glasses.above_mm",
        )

    def _light(self, made: Sandwich) -> Finding:
        return self.found(
            "pass" if made.bare_mm <= 0 else "warn",
            title="light past film between glasses",
            measured=made.bare_mm,
            limit=0.0,
            advice="" if made.bare_mm <= 0 else "wider lips, which hide the bare glass beside the film",
            field="lip.all_mm",
        )


GLASS_KG_MM3 = 2500e-9  # EN 572-1: density of soda lime silicate glass, as in the table of bases


def flattening_n(base: FilmBase, curl_per_m: float, *, across_mm: float, along_mm: float) -> float:
    """The load in the middle that takes the rise out of film curled across its short side, N.

    A strip of width b and curvature k rises k b^2 / 8; a load F in the middle of a beam of stiffness E I on its two
    edges pushes it down by F b^3 / (48 E I). Here E I is the film's plate stiffness times its length.
    """
    rigidity = base.modulus_mpa * base.thickness_mm**3 / (12 * (1 - base.poisson**2))
    return 6 * rigidity * along_mm * curl_per_m * 1e-3 / across_mm
