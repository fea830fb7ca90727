"""Does the holder keep its shape in the hand: sag of the empty frame held by one edge, and what would cure it.

The frame is a grid of beams under its own weight (small deflections, elastic, layers joined into one). A hand grips
the middle of one edge and holds it level. On three frames of one window the beams sag 2 to 13 % less than a plate of
the same shape does (scikit-fem, Morley elements; the tests repeat it): the wider the members, the more. Sheets that are
not glued bend far more, and printed plastic varies, so the number judges, it does not measure. Past a tenth
of the free length the frame hangs rather than sags, and only that is said.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from holders.core.errors import InputError, NotConverged
from holders.design.model import EDGES, Design, Edge, Part
from holders.design.parts.grillage import Beam, deflect
from holders.design.parts.members import (
    NEAR_MM,
    Layer,
    Member,
    SectionMaterial,
    beams_of,
    material_of,
    openings_of,
    stretches_of,
)
from holders.design.parts.steel import LaidBar
from holders.facts.habits import habit
from holders.geometry.outline import bounds
from holders.preset.resolve import Job
from holders.workshop.stiffness.creep import creep_factor

Shape = Literal["keeps its shape", "soft", "will not keep its shape"]
RIB_WIDTH_MM = 6.0
MOST_RIB_MM = 30.0
MOST_SHARE = 10.0


@dataclass(frozen=True, slots=True)
class InHand:
    """A frame held by one edge, mm.

    ``sag_mm`` beyond ``hangs_mm`` is outside the theory: read it as "hangs". ``least_share`` is by how much every
    thickness would have to grow to come to the limit (1: right as it is; None: tenfold does not do); ``rib_height_mm``
    the height of ribs of ``RIB_WIDTH_MM`` along both outer members that would do (0: none needed, None: none up to
    30 mm does).
    """

    edge: Edge
    free_length_mm: float
    sag_mm: float
    limit_mm: float
    hangs_mm: float
    shape: Shape
    least_share: float | None
    least_thickness_mm: float | None
    rib_height_mm: float | None
    words: str


def stuff_of(job: Job, hours: float = 0.0) -> SectionMaterial:
    """The holder's material, printed with the usual filling; after ``hours`` of load its modulus has crept down."""
    return material_of(
        job.material,
        job.printer,
        creep_factor(job.material, hours, job.preset.room.ambient_c) if hours > 0 else 1.0,
    )


def in_hand(job: Job, design: Design, edge: Edge = "head") -> InHand:
    """The holder of a design, held by ``edge``.

    Raises
    ------
    InputError
        When the frame has no window or is open where the hand would hold.
    """
    frame = [part for part in design.parts if part.in_frame]
    thickness = max(p.z1 for p in frame) - min(p.z0 for p in frame)
    return judge(_stretches(design, edge), stuff_of(job), edge, thickness)


def held_by_each_edge(job: Job, design: Design) -> tuple[tuple[Edge, float, float], ...]:
    """Edge, sag and its limit (mm) for each edge that a hand can hold, the one that sags most of its limit first.

    Raises ``InputError`` when the holder is no frame, or can be held nowhere.
    """
    stuff, found, why = stuff_of(job), [], None
    for edge in EDGES:
        try:
            sag, length = sag_of(_stretches(design, edge), stuff, edge)
        except InputError as error:
            why = error
            continue
        found.append((edge, sag, habit("hand-sag-share") * length))
    if not found:
        raise why or InputError("design", "(no edge)", "nothing to hold it by")
    return tuple(sorted(found, key=lambda held: -held[1] / held[2]))


def _stretches(design: Design, edge: Edge) -> tuple[Member, ...]:
    frame = [part for part in design.parts if part.in_frame]
    return stretches_of(frame, openings_of(design), grip_lines(frame, edge))


def grip_lines(parts: Sequence[Part], edge: Edge) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Crossings of a frame, x and y, where the middle of an edge is gripped: the grip's ends and its middle."""
    x0, y0, x1, y1 = _box(parts)
    half = habit("hand-grip") / 2
    if edge in ("head", "foot"):
        middle = (x0 + x1) / 2
        return (middle - half, middle, middle + half), ()
    middle = (y0 + y1) / 2
    return (), (middle - half, middle, middle + half)


def _box(parts: Sequence[Part]) -> tuple[float, float, float, float]:
    boxes = [bounds(s.region.outer) for part in parts for s in part.slabs]
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def sag_of(
    stretches: Sequence[Member], stuff: SectionMaterial, edge: Edge, bars: Sequence[LaidBar] = ()
) -> tuple[float, float]:
    """Greatest sag (mm) of a frame gripped in the middle of ``edge``, and its free length (mm).

    ``bars`` of steel lie along its rails and bend beside them; nothing joins the two.

    Raises
    ------
    InputError
        When nothing of the frame lies under the grip.
    """
    nodes, plain = beams_of(stretches, stuff)
    beams = with_bars(nodes, plain, bars)
    grip, length = _gripped(nodes, edge)
    try:
        found = deflect(nodes, beams, grip)
    except NotConverged:
        raise InputError("edge", edge, "the frame hangs on nothing there; hold it by another edge") from None
    return max(abs(w) for w in found.w), length


def sag_by_two(
    stretches: Sequence[Member],
    stuff: SectionMaterial,
    edges: tuple[Edge, Edge],
    bars: Sequence[LaidBar] = (),
) -> tuple[float, float]:
    """Greatest sag (mm) of a frame that lies on fingers in the middle of two opposite edges, and its length (mm).

    Raises as :func:`sag_of`.
    """
    nodes, plain = beams_of(stretches, stuff)
    (first, length), (second, _) = (_gripped(nodes, edge) for edge in edges)
    try:
        found = deflect(nodes, with_bars(nodes, plain, bars), (), (*first, *second))
    except NotConverged:
        raise InputError("edge", edges[0], "the frame hangs on nothing there") from None
    return max(abs(w) for w in found.w), length


def _gripped(nodes: Sequence[tuple[float, float]], edge: Edge) -> tuple[list[int], float]:
    """The nodes under a hand in the middle of an edge, and how far the frame reaches away from there, mm."""
    across = 1 if edge in ("head", "foot") else 0
    line = [n[across] for n in nodes]
    if not line or max(line) <= min(line):
        raise InputError("edge", edge, "nothing of the frame reaches away from that edge; take another")
    held = max(line) if edge in ("head", "right") else min(line)
    ends = [n[1 - across] for n in nodes]
    middle, half = (min(ends) + max(ends)) / 2, habit("hand-grip") / 2 + 2 * NEAR_MM
    grip = [
        k for k, n in enumerate(nodes) if abs(n[across] - held) < 1e-6 and abs(n[1 - across] - middle) <= half
    ]
    if not grip:
        raise InputError("edge", edge, "nothing of the frame lies where a hand would hold it; take another")
    return grip, max(line) - min(line)


def with_bars(
    nodes: Sequence[tuple[float, float]], beams: Sequence[Beam], bars: Sequence[LaidBar]
) -> tuple[Beam, ...]:
    """The beams with the steel that lies along them, glued: its stiffness and its weight, where it lies.

    Steel and rail bend and twist side by side, nothing of the glue counted between them: a lower bound.

    A bar belongs to the rails whose middle line lies nearest to its own.
    """
    found = list(beams)
    for bar in bars:
        axis = 1 if bar.upright else 0  # along which it runs
        low, high = bar.span()
        r = bar.rect
        middle = r.x + r.width / 2 if bar.upright else r.y + r.height / 2
        along = [
            k for k, b in enumerate(beams) if abs(nodes[b.start][1 - axis] - nodes[b.end][1 - axis]) < NEAR_MM
        ]
        near = min((abs(nodes[beams[k].start][1 - axis] - middle) for k in along), default=0.0)
        for k in along:
            if abs(nodes[beams[k].start][1 - axis] - middle) > near + NEAR_MM:
                continue
            a, b = sorted((nodes[beams[k].start][axis], nodes[beams[k].end][axis]))
            share = max(0.0, min(b, high) - max(a, low)) / (b - a)
            found[k] = replace(
                found[k],
                bending=_partly(found[k].bending, bar.stiffness_nmm2, share),
                torsion=_partly(found[k].torsion, bar.torsion_nmm2, share),
                load=found[k].load + share * bar.weight_n / (high - low),
            )
    return tuple(found)


def _partly(own: float, more: float, share: float) -> float:
    """The stiffness of a beam that something stiffens over a share of its length: its softness is the sum of both's."""
    return 1 / ((1 - share) / own + share / (own + more)) if own > 0 else own


def judge(
    stretches: Sequence[Member],
    stuff: SectionMaterial,
    edge: Edge,
    thickness_mm: float,
    bars: Sequence[LaidBar] = (),
    what: str = "frame",
) -> InHand:
    """Sag against the limit, and the least thickness or rib that would cure it."""
    sag, length = sag_of(stretches, stuff, edge, bars)
    limit, hangs = habit("hand-sag-share") * length, habit("hand-hang-share") * length
    shape: Shape = (
        "keeps its shape" if sag <= limit else "soft" if sag <= hangs else "will not keep its shape"
    )
    share = 1.0 if sag <= limit else _least_share(stretches, stuff, edge, limit, bars)
    rib = 0.0 if sag <= limit else _least_rib(stretches, stuff, edge, limit, bars)
    least = None if share is None else share * thickness_mm
    return InHand(
        edge, length, sag, limit, hangs, shape, share, least, rib,
        _words(what, sag, limit, hangs, length, least, rib, shape),
    )  # fmt: skip


def _words(
    what: str,
    sag: float,
    limit: float,
    hangs: float,
    length: float,
    least: float | None,
    rib: float | None,
    shape: Shape,
) -> str:
    how = f"hangs (more than {hangs:.0f} mm)" if sag > hangs else f"sags {sag:.1f} mm"
    text = f"held by one edge the {what} {how} over {length:.0f} mm; up to {limit:.0f} mm it keeps its shape"
    if shape != "keeps its shape":
        cures = [] if least is None else [f"{least:.1f} mm of the same material"]
        if rib is not None:
            cures.append(f"ribs {RIB_WIDTH_MM:g} mm wide and {rib:.1f} mm high on both sides")
        text += f"; {' or '.join(cures)} would do" if cures else "; hold it by another edge"
    return text


def _least_share(
    stretches: Sequence[Member], stuff: SectionMaterial, edge: Edge, limit: float, bars: Sequence[LaidBar]
) -> float | None:
    """By how much all thicknesses must grow; sag falls nearly as their square."""

    def sag(share: float) -> float:
        return sag_of([_thicker(s, share) for s in stretches], stuff, edge, bars)[0]

    return None if sag(MOST_SHARE) > limit else _bisected(sag, 1.0, MOST_SHARE, limit)


def _thicker(stretch: Member, share: float) -> Member:
    return replace(stretch, layers=tuple(Layer(p.width, p.z0 * share, p.z1 * share) for p in stretch.layers))


def _least_rib(
    stretches: Sequence[Member], stuff: SectionMaterial, edge: Edge, limit: float, bars: Sequence[LaidBar]
) -> float | None:
    """Height of ribs along the two outer members that run away from the hand."""
    across = 1 if edge in ("head", "foot") else 0
    away = [s for s in stretches if s.start[1 - across] == s.end[1 - across]]
    lines = {s.start[1 - across] for s in away}
    if not lines:
        return None
    outer = {min(lines), max(lines)}

    def sag(height: float) -> float:
        ribbed = [_ribbed(s, height) if s in away and s.start[1 - across] in outer else s for s in stretches]
        return sag_of(ribbed, stuff, edge, bars)[0]

    if sag(MOST_RIB_MM) > limit:
        return None
    return _bisected(sag, 0.0, MOST_RIB_MM, limit)


def _ribbed(stretch: Member, height: float) -> Member:
    top = max(p.z1 for p in stretch.layers)
    width = min(RIB_WIDTH_MM, max(p.width for p in stretch.layers))
    return replace(stretch, layers=(*stretch.layers, Layer(width, top, top + height)))


def _bisected(sag: Callable[[float], float], low: float, high: float, limit: float) -> float:
    """The least argument, to 0.005, from which ``sag`` is within the limit; at ``high`` it is."""
    while high - low > 0.005:
        middle = (low + high) / 2
        low, high = (low, middle) if sag(middle) <= limit else (middle, high)
    return high
