"""The usual cautions, by route, material and parts: printed where someone can be hurt.

They defer to whoever is responsible: the operator, the workshop's and the country's rules, licensed practice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from holders.core.lines import Caution
from holders.design.model import Design, Role
from holders.facts.models import Material
from holders.facts.tables import hazard, lamp

if TYPE_CHECKING:
    from holders.preset.resolve import Job

MAY_BE_NITRATE = ("sheet", "roll", "35mm", "small")  # 127 film exists since 1912
RULES_ABOVE = "Local rules and the operator come before anything written here."


_KNIFE = Caution(
    "knife",
    "Blades",
    "Fresh blade, steel straightedge with a finger guard, cut away from the hand in several "
    "light passes; change and "
    "store blades closed, and never catch a falling knife.",
)
_LASER = Caution(
    "laser",
    "Laser: fumes and fire",
    "Only a trained operator runs the laser, with interlocks and extraction working and an "
    "extinguisher at hand, the "
    "lid shut and no eye in line with the beam or its reflections: it blinds; a "
    "running job is never left alone. Cut only material whose composition is known. The "
    "operator decides what goes in. " + RULES_ABOVE,
)
_CHLORINE = Caution(
    "laser-forbidden",
    "Not for the laser",
    "This material must not be cut by laser; ask the operator for one that may. " + RULES_ABOVE,
)
_ASK = Caution(
    "laser-ask",
    "Ask before you bring it to the laser",
    "This material is not on every workshop's list: ask the operator before you bring it. " + RULES_ABOVE,
)
_PRINT = Caution(
    "print",
    "Printer: hot parts and vapours",
    "Nozzle and plate burn skin well after the print; let them cool. Air the room, more so "
    "with styrene plastics, and "
    "do not leave the printer running unwatched where local rules forbid it.",
)
_LAMP = Caution(
    "lamp",
    "Warm lamp",
    "The scanner's lamp and its lid get warm in long use: take the holder and the film out "
    "when you stop, never cover "
    "ventilation, and look at a new holder for softening after the first hour.",
)
_GLASS = Caution(
    "glass",
    "Glass plates",
    "Plates break and cut: cotton or nitrile gloves, a padded table, no force against the "
    "frame. A cracked plate is not laid in the holder: put it on a support sheet, ask a conservator, and wear "
    "eye protection and cut-resistant gloves.",
)
_NITRATE = Caution(
    "nitrate",
    "Old film may be cellulose nitrate",
    "Sheet and roll film from before about 1950 may be nitrate, which burns fiercely and "
    "cannot be put out; decaying "
    "film gives off harmful vapour. If in doubt do not warm, scan or store it: ask an archive "
    "or the fire authority, as "
    "licences and local rules apply.",
)
_DUST = Caution(
    "dust",
    "Dust and adhesive",
    "Wear a dust mask when sanding wood boards, and air the room while glue or solvent cement sets.",
)
_SCANNER = Caution(
    "scanner",
    "The scanner's glass",
    "Wipe glass and holder clean, lower the holder close to its place, and push it only the last few millimetres to "
    "its stop: grit under a hard edge scratches glass. Slide it farther only to measure how film lies, wiped clean "
    "again. Never open the scanner while it is plugged in.",
)


def _of_row(key: str) -> Caution:
    """A caution in the words of its row of hazards, where its source stands."""
    row = hazard(key)
    return Caution(row.key, row.name, row.words)


def by_process(*processes: str) -> tuple[str, ...]:
    """The cautions of ways of making alone ("print", "laser", "knife"), where there is no holder to speak of."""
    of = {"print": _PRINT, "laser": _LASER, "knife": _KNIFE}
    return tuple(of[process].sentence for process in processes)


def cautions(job: Job, design: Design) -> tuple[str, ...]:
    """The cautions that concern this holder as sentences with their title, the sharpest first."""
    return tuple(hazard.sentence for hazard in hazards(job, design))


def hazards(job: Job, design: Design) -> tuple[Caution, ...]:
    """The same with their keys, for pages that lay them out; each once, whichever film of the holder it is for."""
    every = (
        [_wanted(job.of(one.kind), one) for one in design.each] if design.kinds else [_wanted(job, design)]
    )
    own = [[caution for applies, caution in wanted if applies] for wanted in every]
    ranks = {caution: k for wanted in every for k, (_, caution) in enumerate(wanted)}
    return tuple(sorted(dict.fromkeys(c for cautions in own for c in cautions), key=lambda c: ranks[c]))


def _wanted(job: Job, design: Design) -> tuple[tuple[bool, Caution], ...]:
    """Every caution there is, with whether it concerns the film that is looked at and its holder."""
    kinds = {part.process for part in design.parts} or {design.route}
    chlorine = job.material.laser == "forbidden"
    base, material = job.own_base, job.material
    cut = "laser" in kinds and not chlorine
    return (
        (base.nitrate, _of_row("nitrate")),
        ("laser" in kinds and chlorine, _CHLORINE),
        ("laser" in kinds and job.material.laser == "ask the operator", _ASK),
        ("laser" in kinds, _LASER),
        (cut and material.family == "wood", _of_row("wood-glue")),
        (cut and material.family == "board", _of_row("board-smoke")),
        (cut and material.family == "acrylic", _of_row("acrylic-vapour")),
        ("knife" in kinds or bool(design.of_card), _KNIFE),
        ("print" in kinds, _PRINT),
        ("print" in kinds, _of_row("filament-particles")),
        (_super_glue(job.material, design), _of_row("super-glue")),
        (_cut_pins(design), _of_row("cut-pins")),
        *((True, own) for fitted in design.fitted for own in fitted.cautions(job)),
        (job.base.rigid or job.film.kind == "plate", _GLASS),
        (not base.rigid and not base.nitrate and job.own_film.kind in MAY_BE_NITRATE, _NITRATE),
        (bool(base.note) and not base.nitrate, Caution("base", f"Film base, {base.name}", base.note)),
        (bool(material.note), Caution("material", f"Material, {material.name}", material.note)),
        (bool(job.own_film.note), Caution("film", f"Film, {job.own_film.name}", job.own_film.note)),
        (kinds != {"print"}, _DUST),
        (True, _LAMP),
        (lamp(job.bed.lamp).mercury, _of_row("mercury")),
        (True, _SCANNER),
    )


def _super_glue(material: Material, design: Design) -> bool:
    """Whether the holder is put together with super glue or epoxy: its seams, its fittings, or what plastic takes."""
    takes = {thing for made in design.fitted for thing in made.takes(design)}
    stops = any(part.role is Role.CORNER for part in design.parts)
    sheets = design.route != "print" and sum(part.in_frame for part in design.parts) > 1
    glued = stops or sheets or "glue" in takes
    return (
        bool(design.seams)
        or bool(takes & {"super-glue", "epoxy"})
        or (glued and material.family == "plastic")
    )


def _cut_pins(design: Design) -> bool:
    """Whether pins are cut to a length: those of catches are, those that align sheets stay as they are."""
    return any("pins" in made.takes(design) for made in design.fitted)
