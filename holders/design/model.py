"""What a finished design is: every number decided, nothing left to an exporter.

Coordinates are the bed's: origin at the home corner of the glass, x across, y away from home, z up from the glass.
Seen from above with the home end toward you: left and right are least and greatest x, foot and head least and
greatest y. All lengths in mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, ClassVar, Literal, TypeVar

from holders.core.lines import Caution, Row
from holders.design.other_films import BaseSpread, CurledFilm, WarmFilm
from holders.facts.models import Route
from holders.geometry.grip import Grip
from holders.geometry.outline import Bounds, Outline, Point, Region, bounds

if TYPE_CHECKING:
    from holders.film.models import LidRest, Support
    from holders.preset.resolve import Job

Edge = Literal["left", "right", "head", "foot"]
EDGES: tuple[Edge, ...] = ("left", "right", "head", "foot")
F = TypeVar("F", bound="Fitted")


class Role(Enum):
    """What a part is for. Modules decide by it, never by a part's name, which is for people."""

    FRAME = "frame"
    CARRIER = "carrier"
    INSERT = "insert"
    LID = "lid"
    BUTTON = "turn button"
    STOP = "stop"
    CORNER = "corner stop"
    OTHER = "beside or on the frame"
    TEST = "test piece"

    @property
    def in_frame(self) -> bool:
        """Whether such parts carry the film; the others lie on the frame or beside it."""
        return self in (Role.FRAME, Role.CARRIER, Role.INSERT)


class NoSag(Enum):
    """Why a design's film surface is not known."""

    NOT_ASKED = "not computed"
    UNSOLVED = "no shape of the film was found"


@dataclass(frozen=True, slots=True)
class Edges:
    """One length per edge, mm."""

    left: float
    right: float
    head: float
    foot: float

    def of(self, edge: Edge) -> float:
        """The length on one edge."""
        return float(getattr(self, edge))


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle on the bed: corner of least x and y, width along x, height along y."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Greatest x."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """Greatest y."""
        return self.y + self.height

    def inset(self, left: float, right: float, head: float, foot: float) -> Rect:
        """The rectangle with each edge moved inward."""
        return Rect(self.x + left, self.y + foot, self.width - left - right, self.height - head - foot)

    def grown(self, by: float) -> Rect:
        """The rectangle with every edge moved outward."""
        return self.inset(-by, -by, -by, -by)

    def contains(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether ``other`` lies inside (touching counts)."""
        return (
            other.x >= self.x - slack
            and other.y >= self.y - slack
            and other.right <= self.right + slack
            and other.top <= self.top + slack
        )

    def overlaps(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether the two share more than a border."""
        return (
            min(self.right, other.right) - max(self.x, other.x) > slack
            and min(self.top, other.top) - max(self.y, other.y) > slack
        )


@dataclass(frozen=True, slots=True)
class Window:
    """One film's place: the opening light passes, the film above it, the pocket around it."""

    opening: Rect
    film: Rect  # the film as cut, at its nominal place
    picture: Rect  # all that is picture on it (a strip: first frame's start to last frame's end)
    pocket: Rect
    lips: Edges
    film_key: str
    turned: bool  # the film's long side lies across the bed
    seen: float  # share of the picture area shown, 0 to 1
    shaded: Edges  # how much of the film beside each window edge the lens cannot see, mm
    wall: tuple[tuple[float, float], ...] = ()  # below the ledge: how far down, how far back from the opening
    grips: tuple[Grip, ...] | None = None  # None: not looked at
    holes_lit: Edges = Edges(
        0.0, 0.0, 0.0, 0.0
    )  # of each perforation's width, what may show past the lip, mm


@dataclass(frozen=True, slots=True)
class Slab:
    """A plate of the holder: a region between two heights above the glass."""

    name: str
    z0: float
    z1: float
    region: Region


@dataclass(frozen=True, slots=True)
class Cut:
    """Material taken away between two heights: ``outline`` at z1, grown by ``flare_mm`` at z0 (a chamfer)."""

    name: str
    outline: Outline
    z0: float
    z1: float
    flare_mm: float = 0.0
    magnet: bool = False  # a pocket that takes a magnet
    foot: bool = False  # a recess that takes a foot

    @property
    def chamfer(self) -> bool:
        """Whether it widens downward, as under a window's edge."""
        return self.flare_mm > 0


@dataclass(frozen=True, slots=True)
class Groove:
    """Lettering: centre lines of single strokes, as wide and deep as the process makes them."""

    text: str
    strokes: tuple[tuple[Point, ...], ...]
    width_mm: float
    depth_mm: float
    z_top: float


@dataclass(frozen=True, slots=True)
class Part:
    """One piece to print or cut, in the place where it sits in the assembled holder."""

    name: str
    title: str
    process: Route
    material: str
    quantity: int
    slabs: tuple[Slab, ...]
    cuts: tuple[Cut, ...] = ()
    grooves: tuple[Groove, ...] = ()
    places: tuple[Point, ...] = ((0.0, 0.0),)  # where each of the ``quantity`` stands, as shifts of this one
    whole: str = ""  # the name of the part that this is a piece of; empty for a part in one piece
    role: Role = Role.FRAME

    @property
    def in_frame(self) -> bool:
        """Whether it belongs to the frame; lids and turn buttons lie on it, stops beside it."""
        return self.role.in_frame

    @property
    def z0(self) -> float:
        """Lowest height above the glass."""
        return min(slab.z0 for slab in self.slabs)

    @property
    def z1(self) -> float:
        """Greatest height above the glass."""
        return max(slab.z1 for slab in self.slabs)

    @property
    def box(self) -> Bounds:
        """(least x, least y, greatest x, greatest y) over all slabs."""
        boxes = [bounds(slab.region.outer) for slab in self.slabs]
        low_x, low_y, high_x, high_y = zip(*boxes, strict=True)
        return min(low_x), min(low_y), max(high_x), max(high_y)


@dataclass(frozen=True, slots=True)
class Foot:
    """An anti-slip foot: its middle on the underside and its size."""

    x: float
    y: float
    diameter_mm: float
    raise_mm: float = 0.0  # how much higher than the middle it stands, to follow a tilted bed


HEIGHT_CELLS = 24  # of the film's heights over the picture, each way

JointKind = Literal["tongue", "lap"]
Axis = Literal["x", "y"]


@dataclass(frozen=True, slots=True)
class Joint:
    """Where two pieces interlock, in bed coordinates: ``low`` carries the tongue, ``high`` the socket around it."""

    letter: str  # engraved on both pieces where it has room
    kind: JointKind
    low: str
    high: str
    root: Point  # on the seam, in the middle of the tongue's root
    tongue: Outline  # reaches back a little into its own piece
    socket: Outline  # the tongue and the clearance all round
    play_mm: float  # how far the pieces can be drawn apart before it holds them (a lap: infinite)
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Seam:
    """A straight cut through a part with the joints on it.

    ``axis`` is the direction from the pieces below the seam to those above, ``at_mm`` its place on that axis, and
    ``crossings`` where it runs through material, as spans along the other axis.
    """

    part: str
    role: Role  # of that part
    axis: Axis
    at_mm: float
    crossings: tuple[tuple[float, float], ...]
    joints: tuple[Joint, ...]
    clearance_mm: float
    fit: Literal["glue", "press"]


@dataclass(frozen=True, slots=True)
class Sag:
    """What the film surface does to the picture (mm); None in a design whose film is rigid or was not asked.

    ``max_mm`` is how far the lowest point hangs below the ledge, ``mean_mm`` the mean (negative: above it).
    """

    max_mm: float
    mean_mm: float
    min_gap_mm: float
    in_band_fraction: float
    least_gap_mm: float = 0.1  # what rings, dust and doubt ask for
    best_fraction: float | None = None  # in-band share with the best ledge, whatever could be built
    focus_fraction: float | None = None  # the same with the ledge at the focus height
    worst_fraction: float | None = None  # in-band share of the sensible extreme that does worst
    worst_case: str = ""
    reach_mm: tuple[float, float] | None = None  # least and greatest height of the picture above its ledge
    heights_mm: tuple[tuple[float, ...], ...] = ()  # by cells: rows from the head, columns from the left
    curled: tuple[CurledFilm, ...] = ()  # by growing curl across; what film of this kind may do instead
    curl_range_per_m: tuple[float, float, float] = (0.0, 0.0, 0.0)  # least, usual and most curl of its kind
    sought_per_m: tuple[float, float] = (0.0, 0.0)  # least and most curl for which a shape was looked for
    pressed_down_n: float = 0.0  # what the film pushes up with where its lid or cover stands
    lid: LidRest | None = None  # where a lid or cover that can move comes to rest on the film
    warm: WarmFilm | None = None  # the same film on a warm bed; None for glass and film in its mount
    bases: BaseSpread | None = None  # what softer and stiffer bases of its kind do
    lid_room_mm: float = 0.0  # how far what lies on the film can be lifted, and so tilt; 0 where it cannot

    @property
    def lift_mm(self) -> float:
        """How far the film lifts its lid or cover, mm."""
        return 0.0 if self.lid is None else self.lid.rise_mm


@dataclass(frozen=True, slots=True)
class Heights:
    """The height sum of one holder, mm: the one place where heights of ledge and picture are added up.

    ``ledge_height`` is measured from the holder's underside and is what the drawing and the slabs have. A printer may
    make it higher or lower by ``print_offset`` (a test piece shows by how much); ``ledge_as_made`` is what a caliper
    then reads, ``ledge_above_glass`` where film really rests, and ``sharp_plane`` where the picture of a flat film is.
    """

    foot_protrusion: float
    ledge_height: float  # above the underside, as drawn
    ledge_wanted: float  # the same before rounding to layers or stock
    optics: float  # what the film's own thickness adds: emulsion up t/n, a mount's inner plane
    focus: float
    focus_sigma: float
    band_low: float
    band_high: float
    step: float  # the unit heights come in: a printer layer; 0 for stock
    print_offset: float = 0.0  # how much higher than drawn the ledge comes out
    print_offset_sigma: float = 0.0  # its standard uncertainty, from the readings of the test piece
    glue: float = 0.0  # of the ledge height, what the glue lines between sheets take
    film_reach: tuple[float, float] = (0.0, 0.0)  # heights of the film above its ledge that it was chosen for

    @property
    def drawn_ledge(self) -> float:
        """Height of the ledge above the glass as drawn, mm: for geometry only."""
        return self.foot_protrusion + self.ledge_height

    @property
    def ledge_as_made(self) -> float:
        """Height of the ledge above the underside as it comes out, mm: what a caliper reads."""
        return self.ledge_height + self.print_offset

    @property
    def ledge_above_glass(self) -> float:
        """Height of the ledge above the glass as it comes out, mm."""
        return self.foot_protrusion + self.ledge_as_made

    @property
    def sharp_plane(self) -> float:
        """Height above the glass at which the lens sees the picture of a flat film, mm."""
        return self.ledge_above_glass + self.optics

    @property
    def rounding(self) -> float:
        """What layers or sheets add to the ledge that was wanted, mm."""
        return self.ledge_height - self.ledge_wanted

    @property
    def aimed_off(self) -> float:
        """How far the plane was aimed above the focus height on purpose, to meet a sagging film, mm."""
        return self.sharp_plane - self.focus - self.rounding

    @property
    def half_band(self) -> float:
        """Half the width of the focus band, mm."""
        return (self.band_high - self.band_low) / 2


@dataclass(frozen=True, slots=True)
class Plate:
    """A flat piece that is bought, not made: its name, where each lies, and between which heights."""

    name: str
    places: tuple[Rect, ...]
    z0: float
    z1: float


class Fitted:
    """What one fitting made of a holder, and what it adds to sheet, drawings and checks; here all of that is nothing.

    A design carries one of these for each fitting of its preset. Whoever goes over a design asks each of them, so that
    no other module knows which kinds there are.
    """

    __slots__ = ()
    on_film: ClassVar[str] = ""  # what it is called where it lies on the film and may be lifted by it
    brief: ClassVar[str] = ""  # the same in one short word
    holds_film: ClassVar[bool] = False  # whether it keeps the film from rising
    is_frame: ClassVar[bool] = False  # the frame itself, of which one reads first and which moves last
    film_drawn: ClassVar[str] = "flat"  # how drawings show the film that lies in it
    step_picture: ClassVar[str] = "join"  # the kind of picture beside its steps of making
    lower_key: ClassVar[str] = ""  # the preset key that makes the holder lower
    stiff_key: ClassVar[str] = ""  # the preset key that makes the frame around it higher, and so stiffer

    @property
    def plates(self) -> tuple[Plate, ...]:
        """Bought plates, drawn where they lie."""
        return ()

    def support(self, job: Job, design: Design) -> Support | None:  # noqa: ARG002
        """What the film lies between, where this decides it."""
        return None

    def pressing_n(self, job: Job, design: Design) -> float:  # noqa: ARG002
        """Weight and force on the frame that no part of the design has, N in all."""
        return 0.0

    def top_mm(self, parts_mm: float) -> float:
        """The holder's height above the glass where its parts reach ``parts_mm``."""
        return parts_mm

    def drop_mm(self, from_middle_mm: float) -> float:  # noqa: ARG002
        """How far below the ledge the film lies at that distance from its middle, across the film."""
        return 0.0

    def terraces(self) -> tuple[Point, ...]:
        """Corners of the frame from the window outward: (distance from the film's middle, depth below the ledge)."""
        return ()

    def floor_mm(self) -> float:
        """How far the frame's floor lies below the ledge under the film's edge."""
        return 0.0

    def spots(self) -> tuple[tuple[str, Rect], ...]:
        """What a plan dimensions, each with its name, in bed coordinates; a point is a rectangle without size."""
        return ()

    def levels(self, ledge_mm: float) -> tuple[tuple[str, float], ...]:  # noqa: ARG002
        """Heights above the glass that a section names, besides those of parts and plates."""
        return ()

    def bought(self) -> tuple[tuple[str, int, str], ...]:
        """Small things that the list of parts names: title, how many, size."""
        return ()

    def drawn(self) -> tuple[str, ...]:
        """What a drawing says of it in words."""
        return ()

    def notes(self) -> tuple[str, ...]:
        """What to know about it, in words."""
        return ()

    def cautions(self, job: Job) -> tuple[Caution, ...]:  # noqa: ARG002
        """What someone can be hurt by."""
        return ()

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """Steps of laying the film in, from the film upward; ``what`` names it: film, plate or mount."""
        return ()

    def making(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Steps of putting it together."""
        return ()

    def gluing(self) -> str:
        """What must be kept free of glue when the frame's pieces are joined, in a sentence."""
        return ""

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Lines of the shopping list."""
        return ()

    def printed_heights(self) -> tuple[str, ...]:
        """Names of the printed heights that add to the frame's own below the film."""
        return ()

    def record(self) -> Mapping[str, object]:
        """What a program reads of it, and the manifest keeps."""
        return {}


@dataclass(frozen=True, slots=True)
class Design:
    """A holder with every number decided."""

    slug: str
    title: str
    route: Route
    outer: Rect
    glass: Rect
    lamp: Rect
    calibration: Rect | None
    heights: Heights
    windows: tuple[Window, ...]
    parts: tuple[Part, ...]
    feet: tuple[Foot, ...]
    foot_thickness: float
    foot_recess: float
    film_thickness: float
    pocket_depth: float
    clearance: float
    slide_gap: float
    total_height: float  # glass to the top of the assembled holder
    notes: tuple[str, ...] = ()
    sag: Sag | None = None
    no_sag: NoSag = NoSag.NOT_ASKED  # why there is no ``sag``, where there is none
    no_sag_because: str = ""  # the same in words
    seams: tuple[Seam, ...] = ()  # between pieces of parts too large for the printer
    fitted: tuple[Fitted, ...] = ()  # what each fitting of the preset made
    whole_because: str = ""  # why a part too large for the printer was left in one piece, in words

    @property
    def foot_depths(self) -> tuple[float, ...]:
        """How deep each foot sits in the underside, mm: less deep where the holder must stand higher (a tilted bed)."""
        return tuple(self.foot_recess - foot.raise_mm for foot in self.feet)

    @property
    def on_film(self) -> Fitted:
        """What lies on the film and may be lifted by it; one that does nothing where there is none."""
        return next((made for made in self.fitted if made.on_film), Fitted())

    def find(self, kind: type[F]) -> F | None:
        """What a fitting of a kind made here; None where the preset has none."""
        return next((made for made in self.fitted if isinstance(made, kind)), None)
