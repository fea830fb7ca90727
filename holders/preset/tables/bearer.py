"""Tables that lay the film on glass of its own: what lies in the pocket is then a plate, and the film goes with it."""

from __future__ import annotations

from dataclasses import dataclass

from holders.facts.models import FilmBase, FilmFormat
from holders.facts.tables import film_base
from holders.preset.tables.base import Table


@dataclass(frozen=True, slots=True)
class Layer:
    """A plane-parallel layer that moves the picture's image, lowest first.

    Parameters
    ----------
    thickness_mm, off_mm:
        Its thickness and how far that may be off, either way, mm.
    index:
        Its refractive index.
    seen:
        Whether the lens looks through it, so that it looks as thick as its thickness over its index.
    hangs:
        Whether it lies below the lowest plate and so lowers the picture by its thickness.
    source:
        Where the spread comes from, in words.
    """

    name: str
    thickness_mm: float
    index: float
    off_mm: float = 0.0
    seen: bool = True
    hangs: bool = False
    source: str = ""

    @property
    def lift(self) -> float:
        """By how much the image rises for each millimetre of the layer (negative: sinks)."""
        return (1 / self.index if self.seen else 0.0) - (1.0 if self.hangs else 0.0)


@dataclass(frozen=True, slots=True)
class OnGlass:
    """Film that lies on one or two plates of glass, which bear it: it has their shape.

    Parameters
    ----------
    film, base:
        The film itself as cut, and what it is made of.
    size:
        Width and length of the plates, along the film's, mm.
    plates_mm:
        Thickness of each plate.
    tolerance_mm:
        How far the plates may be off their size, either way, mm.
    layers:
        What moves the picture's image, from below.
    above_mm:
        What of the whole lies above the ledge, mm.
    facing_index:
        Refractive index of the face toward the scanner's glass.
    words:
        What it is called: "8x10 in sheet, on a plate of glass".
    """

    film: FilmFormat
    base: FilmBase
    size: tuple[float, float]
    tolerance_mm: float
    plates_mm: tuple[float, ...]
    layers: tuple[Layer, ...]
    above_mm: float
    facing_index: float
    words: str

    @property
    def rise_mm(self) -> float:
        """How far the picture's image lies above the lower face of the lowest plate, mm (negative: below it).

        Paraxial: a plane-parallel layer looks as thick as its thickness t over its index n, so the image lies
        t (1 - 1/n) nearer to the lens than the picture (E. Hecht, Optics, chapter 5: from memory).
        """
        return sum(layer.thickness_mm * layer.lift for layer in self.layers)

    @property
    def hang_mm(self) -> float:
        """How far film and what is laid under it reach below the lowest plate, mm."""
        return sum(layer.thickness_mm for layer in self.layers if layer.hangs)

    def as_film(self) -> FilmFormat:
        """What lies in the pocket, with the film's picture in its middle."""
        return self.film.model_copy(
            update={
                "name": self.words,
                "kind": "plate",
                "cut_width_mm": self.size[0],
                "cut_height_mm": self.size[1],
                "tolerance_mm": self.tolerance_mm,
                "thickness_mm": self.above_mm,
                "perforation_width_mm": 0.0,  # no lip hides them
                "note": "",
            }
        )

    def as_base(self) -> FilmBase:
        """Glass as stiff and as heavy as all plates together, for a plate of the first one's thickness.

        Plates that lie on one another without glue share a load by their rigidities, which go with the cube of the
        thickness (plate theory); the film's own weight is counted.
        """
        glass, first = film_base("glass"), self.plates_mm[0]
        own = self.film.thickness_mm * self.base.density_kg_m3
        return glass.model_copy(
            update={
                "thickness_mm": first,
                "thickness_low_mm": min(first, glass.thickness_low_mm),
                "thickness_high_mm": max(first, glass.thickness_high_mm),
                "modulus_mpa": glass.modulus_mpa * sum((t / first) ** 3 for t in self.plates_mm),
                "density_kg_m3": (glass.density_kg_m3 * sum(self.plates_mm) + own) / first,
            }
        )


class Bearer(Table):
    """A table of a fitting that lays the film on glass of its own."""

    def bear(self, film: FilmFormat, base: FilmBase, emulsion: str) -> OnGlass:
        """The film on its glass. Raises ``InputError`` for film that cannot lie so."""
        raise NotImplementedError
