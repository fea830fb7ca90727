"""What goes into and comes out of the film surface: the sheet, its support, the shape it takes.

Axes: ``x`` runs from the film's left edge to its right edge, ``y`` from its head edge to its foot edge, both in mm
with the origin at the left head corner; ``z`` points up, away from the scanner's glass.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from holders.core.errors import InputError
from holders.facts.constants import GRAVITY_M_S2
from holders.film.hold import Hold

Array = NDArray[np.float64]

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]


class Membrane(Enum):
    """What holds the sheet's edges in its own plane.

    ``FREE``: no force on the edge at all, it may pull in and curve (a loose film sheet). ``STRAIGHT``: the edge stays
    straight and carries no mean load. ``HELD``: no movement across the edge, sliding along it is free. ``FIXED``: no
    movement at all (a gripped edge that cannot slide).
    """

    FREE = "free"
    STRAIGHT = "straight"
    HELD = "held"
    FIXED = "fixed"


class Kind(Enum):
    """How the film is supported.

    ``LEDGE``: it lies loose on the ledge and may lift off. ``LID``: the same under a lid frame with some play.
    ``COVER``: the same under a rigid pane that covers the whole film. ``GRIPPED``: the lid presses its border flat so
    that it cannot turn, but it slides. ``GRIPPED_HELD``: it cannot slide either. ``SIMPLY_SUPPORTED`` and ``CLAMPED``
    hold the outer edge (hinged; without rotation) as the handbook tables do.
    """

    LEDGE = "ledge"
    LID = "lid"
    COVER = "cover"
    GRIPPED = "gripped"
    GRIPPED_HELD = "gripped_held"
    SIMPLY_SUPPORTED = "simply_supported"
    CLAMPED = "clamped"


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    def __init__(self, **data: Any) -> None:
        try:
            super().__init__(**data)
        except ValidationError as bad:
            first = bad.errors()[0]
            name = ".".join(str(p) for p in first["loc"]) or type(self).__name__
            raise InputError(name, first.get("input"), str(first["msg"])) from None


class Sheet(_Frozen):
    """A rectangular sheet of film.

    ``curl_x_per_m`` is the curvature 1/R (1/m) the weightless sheet would have along x, ``curl_y_per_m`` along y.
    **Positive is toward the emulsion** (edges bend to the emulsion side, the sign of ISO 18910). With
    ``emulsion="down"`` a positive curl therefore lifts the middle (an arch), with ``"up"`` it lets the middle hang (a
    trough). ``moulded`` false: the sheet was made flat and curls because the emulsion shrinks, so curl in both
    directions strains its middle plane; true: a shell formed to that shape, free of stress in it.
    """

    width_mm: Positive
    height_mm: Positive
    thickness_mm: Positive
    modulus_mpa: Positive
    poisson: Annotated[float, Field(ge=0, lt=0.5)]
    density_kg_m3: NotNegative
    curl_x_per_m: Finite = 0.0
    curl_y_per_m: Finite = 0.0
    emulsion: Literal["down", "up"] = "down"
    moulded: bool = False

    @property
    def pressure_mpa(self) -> float:
        """Weight per area, N/mm²."""
        return self.density_kg_m3 * 1e-9 * GRAVITY_M_S2 * self.thickness_mm

    @property
    def weight_n(self) -> float:
        """Weight of the whole sheet, N."""
        return self.pressure_mpa * self.width_mm * self.height_mm

    @property
    def rigidity_nmm(self) -> float:
        """Bending stiffness D = E t³/12(1-ν²), N mm."""
        return self.modulus_mpa * self.thickness_mm**3 / (12.0 * (1.0 - self.poisson**2))

    @property
    def natural_curvature_per_mm(self) -> tuple[float, float]:
        """(∂²w/∂x², ∂²w/∂y²) of the unloaded sheet in 1/mm with w upward: positive for edges that rise."""
        sign = 1.0 if self.emulsion == "up" else -1.0
        return sign * self.curl_x_per_m * 1e-3, sign * self.curl_y_per_m * 1e-3


class Lips(_Frozen):
    """How far something reaches over the film from each edge, mm; 0 means that it is not there."""

    left_mm: NotNegative = 0.0
    right_mm: NotNegative = 0.0
    head_mm: NotNegative = 0.0
    foot_mm: NotNegative = 0.0

    @classmethod
    def all_round(cls, lip_mm: float) -> Lips:
        """The same reach on all four edges."""
        return cls(left_mm=lip_mm, right_mm=lip_mm, head_mm=lip_mm, foot_mm=lip_mm)


class Support(_Frozen):
    """What the film lies on and under.

    ``ledge_height_mm`` is the height of the ledge's top above the glass (feet included). ``lips`` is the ledge (or
    the grip) on each edge, ``lid_lips`` the lid frame's own reach (the ledge's if not given). ``lid_play_mm`` is the
    free height between the film lying flat and the lid or cover above it; less than 2 µm counts as 2 µm. ``membrane``
    applies to ``SIMPLY_SUPPORTED`` and ``CLAMPED`` only: a ledge, a lid or a cover leaves the film's edges FREE, a
    grip too unless it is ``GRIPPED_HELD``, which is FIXED. ``hold`` is what keeps a lid or a cover down: film that
    pushes harder lifts it (None: it cannot move; of no effect on film that is not under a lid or cover).
    """

    kind: Kind
    ledge_height_mm: NotNegative = 3.0
    lips: Lips = Lips()
    lid_lips: Lips | None = None
    lid_play_mm: NotNegative = 0.0
    membrane: Membrane = Membrane.FREE
    hold: Hold | None = None

    @property
    def movable(self) -> bool:
        """Whether film can lift what lies on it."""
        return self.hold is not None and self.kind in (Kind.LID, Kind.COVER)


@dataclass(frozen=True)
class LidRest:
    """Where a lid or cover comes to rest on its film.

    ``needed_n`` is what it would have to press with to stay down, ``held_n`` what it presses with when down,
    ``rise_mm`` how far it stands above that place. ``unbalanced`` is the force out of balance where it stands, against
    what presses it (0 where it lies or is stopped). ``opens_mm``: pressed down it stays, yet lifted as far as this it
    stays up as well (magnets); None where that is not so.
    """

    weight_n: float
    held_n: float
    needed_n: float
    rise_mm: float
    unbalanced: float = 0.0
    opens_mm: float | None = None


@dataclass(frozen=True)
class ContactForce:
    """One point where something pushes on the film: place in film coordinates, force in N (never negative)."""

    x_mm: float
    y_mm: float
    force_n: float
    by: Literal["ledge", "lid", "cover", "glass"]


@dataclass(frozen=True)
class Branch:
    """One equilibrium of the sheet.

    ``name`` is ``trough`` (middle below the border), ``arch`` (above it) or ``flat``; ``energy_nmm`` the potential
    energy against the flat weightless sheet at ledge height; ``stiffness`` the smallest eigenvalue of the tangent on
    the free set, against the sheet's own bending stiffness (positive: stable; of a draft that followed another film no
    less than that one, as it was only asked to be stable). ``symmetric``: it has all the symmetry
    that its support has; where not, its mirror image is a shape it may as well take (``mirrored``).
    """

    name: str
    energy_nmm: float
    centre_deflection_mm: float
    max_sag_mm: float
    stable: bool
    stiffness: float
    symmetric: bool
    mirrored: bool = False


@dataclass(frozen=True)
class Surface:
    """The shape a film takes. ``z[j, i]`` is the height of its **underside** above the glass at ``y[j], x[i]``, mm.

    ``deflection`` is ``z`` less the ledge height. ``max_sag_mm`` is how far the lowest point lies below the ledge,
    ``mean_sag_mm`` the mean over the whole film (negative: above the ledge), ``max_rise_mm`` how far the highest
    point lies above it. ``min_gap_mm`` is the least distance of the underside to the glass inside the opening.
    ``residual`` is the largest relative force out of balance. ``discretisation`` tells the size of the basis.
    ``lid`` is where a lid or cover that can move came to rest, whose film this then is (None for others).
    ``max_slope`` above 0.3 means that the theory (moderate rotations) is stretched: ``within_theory`` is then false.
    """

    x: Array
    y: Array
    z: Array
    deflection: Array
    max_sag_mm: float
    mean_sag_mm: float
    max_rise_mm: float
    min_gap_mm: float
    contact_forces: tuple[ContactForce, ...]
    total_reaction_n: float
    weight_n: float
    pressed_down_n: float
    converged: bool
    iterations: int
    residual: float
    branch: Branch
    other_branches: tuple[Branch, ...]
    energy_nmm: float
    max_slope: float
    within_theory: bool
    touches_glass: bool
    resolution: int
    sheet: Sheet
    support: Support
    lid: LidRest | None = None
