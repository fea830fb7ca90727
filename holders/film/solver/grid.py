"""From sheet and support to a layout without dimensions: pieces, edge conditions, which directions are symmetric.

Lengths are divided by the short side L, heights by the thickness t, energies by D t²/L². Coordinates are taken from
the middle of the film.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from holders.core.errors import InputError
from holders.film.models import Kind, Lips, Membrane, Sheet, Support
from holders.film.solver.basis import End, Pieces

MAX_DEGREE = 30
FINE, BESIDE = 16, 0.35  # costs up to a micrometre of a narrow film's sag under a lid
SAME_MM = 1e-9


@dataclass(frozen=True)
class Axis:
    """One direction: film half-length, reach of ledge and lid at its low and high end, pieces and end conditions.

    ``film_ends`` are for the deflection, ``stress_ends`` for the stress function over ``stress_pieces``.
    """

    half: float
    ledge: tuple[float, float]
    lid: tuple[float, float]
    pieces: Pieces
    film_ends: tuple[End, End]
    stress_pieces: Pieces
    stress_ends: tuple[End, End]

    @property
    def symmetric(self) -> bool:
        """Both ends are alike."""
        return self.pieces.mirrored


@dataclass(frozen=True)
class Outline:
    """All that the matrices depend on besides Poisson's ratio: both directions and extra stress functions."""

    x: Axis
    y: Axis
    stress_extras: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """The outline with the contact planes (in thicknesses above the ledge)."""

    outline: Outline
    contact: bool
    ceiling: float | None
    ceiling_everywhere: bool
    floor: float
    length_mm: float

    @property
    def x(self) -> Axis:
        """Along the film's width."""
        return self.outline.x

    @property
    def y(self) -> Axis:
        """Along the film's height."""
        return self.outline.y


def plan(sheet: Sheet, support: Support, resolution: int) -> Layout:
    """The layout of a sheet on its support; raises InputError when it cannot lie there."""
    kind = support.kind
    contact = kind in (Kind.LEDGE, Kind.LID, Kind.COVER)
    gripped = kind in (Kind.GRIPPED, Kind.GRIPPED_HELD)
    _check(sheet, support, contact, gripped)
    length = min(sheet.width_mm, sheet.height_mm)
    lips, lid = support.lips, support.lid_lips or support.lips
    if not (contact or gripped):
        lips = Lips()
    membrane = Membrane.FREE
    if kind is Kind.GRIPPED_HELD:
        membrane = Membrane.FIXED
    elif not (contact or gripped):
        membrane = support.membrane
    if kind is not Kind.LID:
        lid = lips
    axes = [
        _axis(side / length, _reach(lips, way, length), _reach(lid, way, length), kind, membrane, resolution)
        for side, way in ((sheet.width_mm, "x"), (sheet.height_mm, "y"))
    ]
    free_x = kind is Kind.GRIPPED_HELD and not any(axes[0].ledge)
    free_y = kind is Kind.GRIPPED_HELD and not any(axes[1].ledge)
    extras: tuple[str, ...] = ("x2", "x3", "x3y") if free_x else ("y2", "y3", "xy3") if free_y else ()
    if membrane is Membrane.HELD:
        extras = ("x2", "y2")
    ceiling = None
    if kind in (Kind.LID, Kind.COVER):
        ceiling = max(support.lid_play_mm, 0.002) / sheet.thickness_mm
    return Layout(
        outline=Outline(axes[0], axes[1], extras),
        contact=contact,
        ceiling=ceiling,
        ceiling_everywhere=kind is Kind.COVER,
        floor=-support.ledge_height_mm / sheet.thickness_mm,
        length_mm=length,
    )


def _reach(lips: Lips, way: str, length: float) -> tuple[float, float]:
    """Reach from the low and the high end of one direction, in L."""
    pair = (lips.left_mm, lips.right_mm) if way == "x" else (lips.head_mm, lips.foot_mm)
    return pair[0] / length, pair[1] / length


def _check(sheet: Sheet, support: Support, contact: bool, gripped: bool) -> None:
    lips = support.lips
    for side, name, low, high in (
        (sheet.width_mm, "lips.left_mm + lips.right_mm", lips.left_mm, lips.right_mm),
        (sheet.height_mm, "lips.head_mm + lips.foot_mm", lips.head_mm, lips.foot_mm),
    ):
        if (contact or gripped) and low + high > 0.8 * side:
            raise InputError(name, low + high, f"leave at least a fifth of the film's {side:g} mm open")
    if gripped and not any((lips.left_mm, lips.right_mm, lips.head_mm, lips.foot_mm)):
        raise InputError("lips", "all 0", "a grip needs a lip on at least one edge")


def _axis(
    side: float,
    ledge: tuple[float, float],
    lid: tuple[float, float],
    kind: Kind,
    membrane: Membrane,
    resolution: int,
) -> Axis:
    half = side / 2
    mirrored = abs(ledge[0] - ledge[1]) < SAME_MM and abs(lid[0] - lid[1]) < SAME_MM
    # a long side needs more terms: its ends are as rich as the short side's, with a plain stretch in between
    degree = min(MAX_DEGREE, 2 * round(resolution * min(side, 8.0) ** 0.5 / 2))
    film_ends: tuple[End, End] = ("loose", "loose")
    lo, hi, inner = -half, half, {-half + ledge[0], half - ledge[1]}
    for end, beyond in zip((0, 1), (-half, half), strict=True):
        # where it must be quick, a lid that ends beside the ledge's inner edge gets no knot of its own
        if resolution >= FINE or abs(lid[end] - ledge[end]) > BESIDE * max(lid[end], ledge[end]):
            inner.add(beyond + lid[end] if end == 0 else beyond - lid[end])
    if kind in (Kind.GRIPPED, Kind.GRIPPED_HELD):
        film_ends = ("clamped" if ledge[0] else "loose", "clamped" if ledge[1] else "loose")
        lo, hi, inner = -half + ledge[0], half - ledge[1], set()
    elif kind is Kind.SIMPLY_SUPPORTED:
        film_ends = ("hinged", "hinged")
    elif kind is Kind.CLAMPED:
        film_ends = ("clamped", "clamped")
    pieces = pieces_of(lo, hi, sorted(inner), degree, mirrored)
    held = kind is Kind.GRIPPED_HELD
    stress = pieces_of(lo if held else -half, hi if held else half, [], degree + 2, mirrored)
    ends: dict[Membrane, End] = {
        Membrane.FREE: "clamped",
        Membrane.STRAIGHT: "level",
        Membrane.HELD: "level",
        Membrane.FIXED: "loose",
    }
    stress_ends = (ends[membrane], ends[membrane])
    if held:
        stress_ends = ("loose" if ledge[0] else "clamped", "loose" if ledge[1] else "clamped")
    return Axis(half, ledge, lid, pieces, film_ends, stress, stress_ends)


def pieces_of(lo: float, hi: float, inner: list[float], degree: int, mirrored: bool) -> Pieces:
    """A line from ``lo`` to ``hi`` cut at the places ``inner``: its longest piece has the degree, shorter ones less."""
    cuts = [lo]
    for cut in [*inner, hi]:
        if cut - cuts[-1] > 1e-6:
            cuts.append(cut)
    cuts[-1] = hi
    if mirrored:
        cuts = [0.0, *[c for c in cuts if c > 1e-6]]
    widths = [b - a for a, b in pairwise(cuts)]
    longest = max(widths)
    degrees = tuple(
        degree if w == longest else max(4, 2 * round(degree * (w / longest) ** 0.5 / 2)) for w in widths
    )
    return Pieces(tuple(cuts), degrees, mirrored)
