"""What a finished design is: every number decided, nothing left to an exporter.

Coordinates are the bed's: origin at the home corner of the glass, x across, y away from home, z up from the glass.
Seen from above with the home end toward you: left and right are least and greatest x, foot and head least and
greatest y. All lengths in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Literal

from holders.facts.models import Route
from holders.geometry.outline import Bounds, Outline, Point, Region, bounds

if TYPE_CHECKING:
    from holders.film.models import LidRest

Edge = Literal["left", "right", "head", "foot"]
EDGES: tuple[Edge, ...] = ("left", "right", "head", "foot")


class Role(Enum):
    """What a part is for. Modules decide by it, never by a part's name, which is for people."""

    FRAME = "frame"
    CARRIER = "carrier"
    INSERT = "insert"
    LID = "lid"
    BUTTON = "turn button"
    STOP = "stop"
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
class Pane:
    """A plate of glass on each film: where it lies, one rectangle a window, and between which heights."""

    places: tuple[Rect, ...]
    z0: float
    z1: float
    face: str  # what lies on the film: etched, coated or plain
    clearance: float  # to its pocket, each side
    reach: float  # of a turn button over the plate as it lies in the middle of its pocket; 0 without buttons
    screws: tuple[Point, ...] = ()  # where the buttons turn
    screw: str = ""
    screw_depth: float = 0.0  # of the hole that takes the thread
    head_height: float = 0.0  # of the screw, above its button


@dataclass(frozen=True, slots=True)
class Carrier:
    """A bed-sized carrier and the insert in its pocket, in bed coordinates, mm."""

    insert: Rect
    pocket: Rect
    floor: float  # height above the glass that the insert rests at
    ledge: float  # how far the carrier reaches under the insert, each side
    clearance: float  # between insert and pocket, each side
    key: float  # leg of the insert's slanted corner
    fit: str  # alike on every carrier and insert that fit each other


@dataclass(frozen=True, slots=True)
class Channel:
    """The arc of a strip channel and its rails, across the strip; distances from the strip's middle, mm.

    ``low`` are the outer corners of the lower terraces from the ledge down, a layer each (the last is the floor's);
    ``high`` the inner corners of the lid's rails from its underside down, a layer each.
    """

    radius: float
    middle: float  # x of the first strip's middle on the bed
    inner: float  # outer corner of the top terrace: where the film lies at the ledge's height
    window: float  # half the window's width
    half: float  # half the film's width
    layer: float
    low: tuple[float, ...]
    high: tuple[float, ...]
    roof: float  # from the ledge to the lid's underside
    lid_edge: float  # half the width of the lid's opening
    play: float  # between film and lid


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
class CurledFilm:
    """The usual film with another curl: heights of its picture over the ledge by equal cells, mm, like the usual one's.

    ``below`` is the chance that a film of this kind curls less than this one.
    """

    across_per_m: float
    along_per_m: float
    below: float
    heights_mm: tuple[tuple[float, ...], ...]
    lid_rise_mm: float = 0.0


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
    heights_mm: tuple[
        tuple[float, ...], ...
    ] = ()  # the same by cells: rows from the head, columns from the left
    curled: tuple[CurledFilm, ...] = ()  # by growing curl across; what film of this kind may do instead
    pressed_down_n: float = 0.0  # what the film pushes up with where its lid or cover stands
    lid: LidRest | None = None  # where a lid or cover that can move comes to rest on the film

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
    lid_play: float | None  # None: no lid
    clearance: float
    slide_gap: float
    total_height: float  # glass to the top of the assembled holder
    notes: tuple[str, ...] = ()
    sag: Sag | None = None
    no_sag: NoSag = NoSag.NOT_ASKED  # why there is no ``sag``, where there is none
    no_sag_because: str = ""  # the same in words
    seams: tuple[Seam, ...] = ()  # between pieces of parts too large for the printer
    pane: Pane | None = None  # a glass cover
    channel: Channel | None = None  # for strips
    carrier: Carrier | None = None  # None: the frame is one part with its outside
    lid_shoulder: float | None = (
        None  # of a printed lid, above the ledge: what keeps the film in its pocket under it
    )
    whole_because: str = ""  # why a part too large for the printer was left in one piece, in words

    @property
    def foot_depths(self) -> tuple[float, ...]:
        """How deep each foot sits in the underside, mm: less deep where the holder must stand higher (a tilted bed)."""
        return tuple(self.foot_recess - foot.raise_mm for foot in self.feet)
