"""Film on glass of its own: where it lies, how wide a ledge hides its rim, and rings at a face that touches it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout, Place
from holders.design.model import Rect
from holders.facts.models import FilmBase, FilmFormat
from holders.preset.tables.bearer import OnGlass
from holders.preset.tables.plain import PlainPreset

if TYPE_CHECKING:
    from holders.preset.resolve import Job

Face = Literal["etched", "coated", "plain"]
COATED = 0.005  # reflectance of one coated face: from memory
LEAST_LIP_MM = 4.0  # under glass: common practice, no source
ON_FILM_MM = 2.0  # how far the ledge hides the film's edge, so that no light passes beside it
FACES: Mapping[str, str] = MappingProxyType(
    {"etched": "finely etched: no Newton's rings", "coated": "coated against reflection", "plain": "plain"}
)
ETCHED = (
    "Etched glass shows as fine grain in clear skies and other even greys: look at one at full size. Where it shows, "
    "take glass of finer grain, or scan that picture without it. Rinse it well and dry it with a lint-free cloth: what "
    "dries in its texture stays there."
)
PLAIN_GLASS = (
    "Dry the glass with a lint-free cloth and look along it against a lamp: a smear on it is in the scan."
)
TEMPLATE = (
    "Draw the outlines of glass and film on paper, the film in the middle, and lay the glass on it: so the film ends "
    "up where the window shows it, to a millimetre."
)


def bought_face(face: str, where: str) -> tuple[str, str]:
    """A plate's treated face as it is bought, and where it goes (``where``); both "" for plain glass."""
    if face == "plain":
        return "", ""
    what = (
        "one face finely etched (anti-Newton glass)"
        if face == "etched"
        else "one face coated against reflection"
    )
    return f", {what}", f"{face} face {where}; "


def glass_size(
    key: str,
    film: FilmFormat,
    base: FilmBase,
    rim_mm: float,
    given: tuple[float | None, float | None],
    least_rim_mm: float = 0.0,
) -> tuple[float, float]:
    """Width and length of glass for a film, mm: as measured, or the film and a rim.

    Raises ``InputError``, naming ``key``'s table, for film that no glass bears and for glass that is too small.
    """
    if base.rigid or film.kind == "mount":
        raise InputError(key, "(set)", f"only bare film is laid on glass, not {film.name}; leave it out")
    found = []
    for name, own, size in zip(
        ("width_mm", "length_mm"), (film.cut_width_mm, film.cut_height_mm), given, strict=True
    ):
        least = own + 2 * least_rim_mm
        if size is not None and size < least:
            raise InputError(
                f"{key}.{name}", size, f"what lies on it is {least:.1f} mm: take larger glass or leave it out"
            )
        found.append(max(own + 2 * rim_mm, least) if size is None else size)
    return found[0], found[1]


def hiding_lip_mm(borne: OnGlass) -> float:
    """The lip below glass that film lies on: as wide as the bare rim and a little of the film's clear border, mm."""
    film = borne.film
    rims = (borne.size[0] - film.cut_width_mm) / 2, (borne.size[1] - film.cut_height_mm) / 2
    clear = (film.cut_width_mm - film.image_width_mm) / 2
    return max(LEAST_LIP_MM, min(rims) + min(ON_FILM_MM, clear))


def alone(key: str, preset: PlainPreset, plain: Levels) -> None:
    """Refuse, naming ``key``'s table, what cannot be beside film on its own glass. Raises ``InputError``."""
    if plain.over is not None or plain.shoulder is not None:
        raise InputError(key, "(set)", "glass holds this film; leave out the lid frame or the glass cover")
    if preset.lip.rebate_edge is not None:
        raise InputError(
            "lip.rebate_edge", preset.lip.rebate_edge, "film on its own glass lies on no ledge; leave it out"
        )


def films_on(borne: OnGlass, layout: Layout) -> tuple[Rect, ...]:
    """Each film in the middle of its glass."""
    size = borne.film.cut_width_mm, borne.film.cut_height_mm
    wide, high = reversed(size) if layout.laid.turned else size
    return tuple(_middle(place.film, wide, high) for place in layout.places)


def _middle(glass: Rect, width: float, height: float) -> Rect:
    return Rect(glass.x + (glass.width - width) / 2, glass.y + (glass.height - height) / 2, width, height)


def bare_mm(places: tuple[Place, ...], films: tuple[Rect, ...]) -> float:
    """How far the windows reach past the films at most, mm; 0 where the ledge hides every rim."""
    most = 0.0
    for place, film in zip(places, films, strict=True):
        o = place.opening
        most = max(most, film.x - o.x, o.right - film.right, film.y - o.y, o.top - film.top)
    return most


@dataclass(frozen=True, slots=True)
class RingFace:
    """A face of glass that the film touches: of which glass, "etched", "coated" or "plain", on which side of the film
    ("emulsion" or "base"); the contrast of the rings there, and the least that is seen.
    """

    glass: str
    face: str
    side: str
    contrast: float
    seen_from: float

    @property
    def words(self) -> str:
        """What the film lies on there, and whether rings show."""
        where = f"at the {self.glass} its {self.face} face lies on the film's {self.side} side"
        if self.face == "etched":
            return f"{where}: none, as its texture keeps them off (common practice, no source)"
        told = f"{100 * self.contrast:.1f} % contrast, seen from {100 * self.seen_from:.1f} %"
        return (
            f"{where}: {'too faint to see' if self.contrast <= self.seen_from else 'they can show'} ({told})"
        )


def ring_face(glass: str, face: Face, job: Job, *, up: bool) -> RingFace:
    """What touches the film's upper (``up``) or lower side, and how strong its rings are."""
    from holders.design.held.held_film import facing_index  # noqa: PLC0415 - numpy
    from holders.facts.tables import lamp  # noqa: PLC0415

    side = "emulsion" if (job.preset.film.emulsion == "up") == up else "base"
    seen = touching_contrast(facing_index(job.own_base, job.preset, up=up), face)
    return RingFace(glass, face, side, seen, float(lamp(job.bed.lamp).ring_contrast))


def touching_contrast(film_index: float, face: Face) -> float:
    """Contrast of the rings where a face of film, by its refractive index, touches a face of glass.

    An etched face is taken to give none (common practice, no source).
    """
    from holders.facts.tables import film_base  # noqa: PLC0415
    from holders.film.rings import fresnel_reflectance  # noqa: PLC0415 - numpy

    if face == "etched":
        return 0.0
    film = fresnel_reflectance(film_index)
    glass = COATED if face == "coated" else fresnel_reflectance(film_base("glass").refractive_index)
    return 2 * math.sqrt(film * glass) / (1 + film * glass)
