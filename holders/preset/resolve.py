"""A preset with every name looked up and every override applied: the job that a design answers."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from holders.core.errors import InputError
from holders.facts import tables
from holders.facts.models import Bed, Fact, FilmBase, FilmFormat, Material, Paper, Printer
from holders.preset.folder_name import slug_of
from holders.preset.tables.bearer import Bearer, OnGlass
from holders.preset.tables.more import MoreFilm
from holders.preset.tables.plain import PlainPreset
from holders.preset.tables.rows import BaseChoice, FilmChoice

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
class FilmKind:
    """One kind of film of a holder for several: its rows of facts, the preset's keys for it, and how many."""

    film: FilmFormat
    base: FilmBase
    film_choice: FilmChoice
    base_choice: BaseChoice
    count: int | str


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be made, all facts at hand. ``printer`` is None unless the route is print.

    A holder for several kinds of film has them all in ``kinds``; ``film``, ``base`` and the preset's tables ``[film]``,
    ``[base]`` and ``layout.count`` are then those of the kind of number ``kind``, so that whatever asks for the film
    of a job is answered for that one. :meth:`of` turns it to another, ``whole_preset`` is the preset as written.
    """

    preset: PlainPreset
    slug: str
    bed: Bed
    film: FilmFormat
    base: FilmBase
    material: Material
    printer: Printer | None
    paper: Paper
    printed: PrintedHeights = PrintedHeights()
    on_glass: OnGlass | None = (
        None  # where the film lies on glass of its own; ``film`` and ``base`` are then the glass
    )
    kinds: tuple[FilmKind, ...] = ()  # of a holder for several kinds of film; empty for one
    kind: int = 0  # which of them is looked at

    @property
    def own_film(self) -> FilmFormat:
        """The film itself, where ``film`` is the glass that it lies on."""
        return self.film if self.on_glass is None else self.on_glass.film

    @property
    def own_base(self) -> FilmBase:
        """What the film itself is made of, where ``base`` is the glass that it lies on."""
        return self.base if self.on_glass is None else self.on_glass.base

    @property
    def plate_mm(self) -> float:
        """How thick the film or plate in the pocket is for the density and stiffness of its base, mm."""
        return self.film.thickness_mm if self.on_glass is None else self.base.thickness_mm

    def of(self, kind: int) -> Job:
        """The same job with another of its kinds of film looked at."""
        if not self.kinds or kind == self.kind:
            return self
        one = self.kinds[kind]
        return replace(self, preset=self._preset_of(kind), film=one.film, base=one.base, kind=kind)

    @property
    def each(self) -> tuple[Job, ...]:
        """The job once for each kind of film; itself alone where there is one."""
        return tuple(self.of(kind) for kind in range(max(1, len(self.kinds))))

    @property
    def whole_preset(self) -> PlainPreset:
        """The preset as it was written, whichever kind of film is looked at."""
        return self._preset_of(0) if self.kinds else self.preset

    @property
    def film_called(self) -> str:
        """The film's name, which sets it apart from the other kinds in the holder."""
        others = [one for number, one in enumerate(self.kinds) if number != self.kind]
        alike = [one for one in others if one.film.name == self.film.name]
        if not alike:
            return self.film.name
        side = self.preset.film.emulsion
        if all(one.film_choice.emulsion != side for one in alike):
            return f"{self.film.name}, emulsion {side}"
        return f"{self.film.name}, kind {self.kind + 1}"

    def own_key(self, path: str) -> str:
        """Where the preset has a key of ``[film]`` or ``[base]`` for the kind of film that is looked at."""
        table, _, key = path.partition(".")
        if self.kind == 0 or table not in ("film", "base") or not key:
            return path
        return f"more_films.{self.kind - 1}.{'base.' if table == 'base' else ''}{key}"

    @property
    def film_tag(self) -> str:
        """The film's key, with a number where another kind in the holder has the same."""
        keys = [one.film.key for one in self.kinds]
        return f"{self.film.key}-{self.kind + 1}" if keys.count(self.film.key) > 1 else self.film.key

    def _preset_of(self, kind: int) -> PlainPreset:
        one = self.kinds[kind]
        layout = self.preset.layout.model_copy(update={"count": one.count})
        return self.preset.model_copy(
            update={"film": one.film_choice, "base": one.base_choice, "layout": layout}
        )

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
    film, base = _film_of(preset.film, preset.base)
    bed = _applied(tables.bed(preset.bed.name), preset.bed, "bed")
    printer = (
        _applied(tables.printer(preset.printer.name), preset.printer, "printer")
        if preset.route == "print"
        else None
    )
    job = Job(preset, slug_of(preset.title), bed, film, base, material, printer, tables.paper(preset.paper))
    _consistent(film, base, bed)
    job = _with_more(job)
    _priced(job.printer, job.preset)
    return _borne(job)


def _borne(job: Job) -> Job:
    """The job with the film on the glass that a fitting lays it on, if there is one."""
    bearers = [(key, table) for key, table in job.preset if isinstance(table, Bearer)]
    if not bearers or job.kinds:  # a holder for several kinds of film has none: the layout says so
        return job
    if len(bearers) > 1:
        keys = " and ".join(f"[{key}]" for key, _ in bearers)
        raise InputError(
            bearers[1][0], "(set)", f"film lies on glass in one way only; leave out one of {keys}"
        )
    on_glass = bearers[0][1].bear(job.film, job.base, job.preset.film.emulsion)
    return replace(job, film=on_glass.as_film(), base=on_glass.as_base(), on_glass=on_glass)


def _film_of(choice: FilmChoice, base_choice: BaseChoice) -> tuple[FilmFormat, FilmBase]:
    """The format with what was measured of it, and the base it is on."""
    film = _applied(tables.film_format(choice.format), choice, "film")
    film = _in_mount(_strip_length(film, choice), choice)
    base = _applied(tables.film_base(base_choice.name or film.base), base_choice, "base")
    return film, base


def _with_more(job: Job) -> Job:
    """The job with the further kinds of film of its preset; a refusal names the entry of the list."""
    more = job.preset.more_films
    if not more:
        return job
    own = FilmKind(job.film, job.base, job.preset.film, job.preset.base, job.preset.layout.count)
    return replace(job, kinds=(own, *(_kind(job.bed, number, one) for number, one in enumerate(more))))


def _kind(bed: Bed, number: int, one: MoreFilm) -> FilmKind:
    if one.record is not None:
        raise InputError(
            f"more_films.{number}.record", one.record, "a film record is read for [film] only: write its numbers into "
            "this film's base as curl_low_per_m, curl_per_m and curl_high_per_m",
        )  # fmt: skip
    choice = FilmChoice.model_validate(one.model_dump(exclude={"count", "base"}, exclude_unset=True))
    try:
        film, base = _film_of(choice, one.base)
        _consistent(film, base, bed)
    except InputError as error:
        table, _, key = error.field.partition(".")
        place = {"film": "", "base": "base."}.get(table)
        if place is None:
            raise
        raise InputError(f"more_films.{number}.{place}{key}", error.value, error.way_out) from None
    return FilmKind(film, base, choice, one.base, one.count)


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
        key = str(first["loc"][0])
        raise InputError(
            f"{table}.{key}", first["input"], first["msg"].replace("Input should be", "must be")
        ) from None


def _strip_length(film: FilmFormat, choice: FilmChoice) -> FilmFormat:
    """A strip with another number of frames or pitch has another length, unless that too was measured."""
    length = getattr(choice, "cut_height_mm", None)
    if film.frame_pitch_mm is None or length is not None:
        return film
    return film.model_copy(update={"cut_height_mm": film.frames * film.frame_pitch_mm})


def _in_mount(film: FilmFormat, choice: FilmChoice) -> FilmFormat:
    """In a mount of another thickness film lies midway too, unless its height in it was measured."""
    measured = getattr(choice, "plane_offset_mm", None) is not None
    if film.kind != "mount" or measured or getattr(choice, "thickness_mm", None) is None:
        return film
    return film.model_copy(update={"plane_offset_mm": film.thickness_mm / 2})


def _consistent(film: FilmFormat, base: FilmBase, bed: Bed) -> None:
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
