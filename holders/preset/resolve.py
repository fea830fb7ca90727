"""A preset with every name looked up and every override applied: the job that a design answers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from holders.core.errors import InputError
from holders.facts import tables
from holders.facts.models import Bed, Fact, FilmBase, FilmFormat, Material, Paper, Printer
from holders.preset.folder_name import slug_of
from holders.preset.tables.plain import PlainPreset

F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True)
class PrintedHeights:
    """How printed heights come out: ``offset_mm`` + (1 + ``scale``) x drawn, from the stair of a test piece.

    The standard uncertainties belong to the two numbers; ``covariance`` (mm) joins them. All 0: nothing was measured.
    """

    offset_mm: float = 0.0
    scale: float = 0.0
    sigma_offset_mm: float = 0.0
    sigma_scale: float = 0.0
    covariance: float = 0.0

    def sigma_at_mm(self, drawn_mm: float) -> float:
        """Standard uncertainty of what comes out of a drawn height, mm."""
        var = self.sigma_offset_mm**2 + (drawn_mm * self.sigma_scale) ** 2 + 2 * drawn_mm * self.covariance
        return math.sqrt(max(0.0, var))


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be made, all facts at hand. ``printer`` is None unless the route is print."""

    preset: PlainPreset
    slug: str
    bed: Bed
    film: FilmFormat
    base: FilmBase
    material: Material
    printer: Printer | None
    paper: Paper
    printed: PrintedHeights = PrintedHeights()

    @property
    def through_base_mm(self) -> float:
        """How much base lies between the film's two faces, mm: all of a glass plate, the row's thickness of film."""
        return self.film.thickness_mm if self.base.rigid else self.base.thickness_mm


def resolve(preset: PlainPreset) -> Job:
    """Look up every name and apply the overrides.

    Raises
    ------
    InputError
        For an unknown name (with the nearest known one) or a set of overrides that contradict each other.
    """
    chosen_material = preset.material
    material = _applied(tables.material(chosen_material.name), chosen_material, "material")
    if preset.route not in material.routes:
        others = [row.key for row in tables.table("materials") if preset.route in getattr(row, "routes", ())]
        if not (
            preset.route == "laser" and material.laser == "forbidden"
        ):  # that one gets a finding of its own
            raise InputError(
                "material.name",
                material.key,
                f'is not for route "{preset.route}" (it is for {", ".join(material.routes)}); '
                f"take one of {', '.join(others)}",
            )
    film = _applied(tables.film_format(preset.film.format), preset.film, "film")
    film = _strip_length(film, preset)
    base_key = preset.base.name or film.base
    base = _applied(tables.film_base(base_key), preset.base, "base")
    bed = _applied(tables.bed(preset.bed.name), preset.bed, "bed")
    printer = (
        _applied(tables.printer(preset.printer.name), preset.printer, "printer")
        if preset.route == "print"
        else None
    )
    job = Job(preset, slug_of(preset.title), bed, film, base, material, printer, tables.paper(preset.paper))
    _consistent(job)
    _priced(job.printer, job.preset)
    return job


def _applied(fact: F, choice: BaseModel, table: str) -> F:
    fields = type(fact).model_fields
    changes = {
        k: v for k, v in choice.model_dump().items() if k in fields and k not in ("name",) and v is not None
    }
    if not changes:
        return fact
    try:
        return fact.measured(**changes)
    except ValidationError as error:
        first = error.errors()[0]
        raise InputError(f"{table}.{first['loc'][0]}", first["input"], first["msg"]) from None


def _strip_length(film: FilmFormat, preset: PlainPreset) -> FilmFormat:
    """A strip with another number of frames or pitch has another length, unless that too was measured."""
    choice = preset.film
    length = getattr(choice, "cut_height_mm", None)
    if film.frame_pitch_mm is None or length is not None:
        return film
    return film.model_copy(update={"cut_height_mm": film.frames * film.frame_pitch_mm})


def _consistent(job: Job) -> None:
    film, bed, base = job.film, job.bed, job.base
    if film.image_width_mm > film.cut_width_mm:
        raise InputError(
            "film.image_width_mm", film.image_width_mm, f"wider than the film ({film.cut_width_mm} mm)"
        )
    if film.frame_pitch_mm is None and film.image_height_mm > film.cut_height_mm:
        raise InputError(
            "film.image_height_mm", film.image_height_mm, f"longer than the film ({film.cut_height_mm} mm)"
        )
    if film.frame_pitch_mm is not None and film.image_height_mm > film.frame_pitch_mm:
        raise InputError(
            "film.frame_pitch_mm", film.frame_pitch_mm, f"less than a frame ({film.image_height_mm} mm)"
        )
    if bed.lamp_x_mm + bed.lamp_width_mm > bed.glass_width_mm + 1e-9:
        raise InputError(
            "bed.lamp_width_mm", bed.lamp_width_mm, "the lamp area reaches past the glass; measure both again"
        )
    if bed.lamp_y_mm + bed.lamp_length_mm > bed.glass_length_mm + 1e-9:
        raise InputError(
            "bed.lamp_length_mm",
            bed.lamp_length_mm,
            "the lamp area reaches past the glass; measure both again",
        )
    for what in ("thickness", "modulus", "curl"):
        unit = {"thickness": "_mm", "modulus": "_mpa", "curl": "_per_m"}[what]
        low, mid, high = (getattr(base, f"{what}{part}{unit}") for part in ("_low", "", "_high"))
        if not low <= mid <= high:
            which = "low" if mid < low else "high"
            raise InputError(
                f"base.{what}{unit}",
                mid,
                f"lies outside its range from {low:g} to {high:g}; set base.{what}_{which}{unit} too",
            )


def _priced(printer: Printer | None, preset: PlainPreset) -> None:
    """Prices belong to sheets that are listed, or to a filament."""
    chosen = preset.material
    if chosen.sheet_prices and printer is not None:
        raise InputError(
            "material.sheet_prices", "(set)", "a printed holder takes no sheets; set price_per_kg instead"
        )
    if chosen.price_per_kg is not None and printer is None:
        raise InputError(
            "material.price_per_kg",
            chosen.price_per_kg,
            "only filament is paid by weight; set sheet_prices instead",
        )
    sheets, prices = len(chosen.sheets_mm), len(chosen.sheet_prices)
    if prices and not sheets:
        raise InputError(
            "material.sheet_prices", "(set)", "list the thicknesses of your sheets in sheets_mm first"
        )
    if prices and prices != sheets:
        raise InputError(
            "material.sheet_prices",
            f"{prices} of them",
            f"give one price for each of the {sheets} thicknesses in sheets_mm, in the same order",
        )
