"""What a finished design is: every number decided, nothing left to an exporter.

Coordinates are the bed's: origin at the home corner of the glass, x across, y away from home, z up from the glass.
Seen from above with the home end toward you: left and right are least and greatest x, foot and head of y. All in mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from enum import Enum
from typing import TYPE_CHECKING, ClassVar, Literal, TypeVar

from holders.core.lines import Caution, Row
from holders.design.height_sum import Heights
from holders.design.sag import NoSag, Sag
from holders.facts.models import Route
from holders.geometry.foot import Foot as Foot  # noqa: PLC0414 - named here by all who use a design
from holders.geometry.grip import Grip
from holders.geometry.joint import Joint as Joint  # noqa: PLC0414 - named here by all who use a design
from holders.geometry.joint import JointKind as JointKind  # noqa: PLC0414 - named here by all who use a design
from holders.geometry.outline import Bounds, Outline, Point, Region, bounds
from holders.geometry.plate import Plate as Plate  # noqa: PLC0414 - likewise
from holders.geometry.rect import Rect as Rect  # noqa: PLC0414 - named here by all who use a design

if TYPE_CHECKING:
    from holders.film.models import Support
    from holders.preset.resolve import Job

Edge = Literal["left", "right", "head", "foot"]
EDGES: tuple[Edge, ...] = ("left", "right", "head", "foot")
CARD = "black card"  # the material of what is cut from card, whatever the holder is made of
F = TypeVar("F", bound="Fitted")


class Role(Enum):
    """What a part is for. Modules decide by it, never by a part's name, which is for people."""

    FRAME = "frame"
    CARRIER = "carrier"
    INSERT = "insert"
    LID = "lid"
    CATCH = "catch"
    STOP = "stop"
    STEP = "step block"
    CORNER = "corner stop"
    MASK = "mask on the glass"
    POCKET_CARD = "card in an empty pocket"
    OTHER = "beside or on the frame"
    TEST = "test piece"

    @property
    def in_frame(self) -> bool:
        """Whether such parts carry the film; the others lie on the frame or beside it."""
        return self in (Role.FRAME, Role.CARRIER, Role.INSERT)

    @property
    def beside(self) -> bool:
        """Whether such parts lie on the glass beside the holder and stay there when it is lifted."""
        return self in (Role.STOP, Role.STEP)


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


NO_EDGES = Edges(0.0, 0.0, 0.0, 0.0)


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
    dimmed: Edges = NO_EDGES  # of a diffuse lamp's light, kept off by what stands over the film
    wall: tuple[tuple[float, float], ...] = ()  # below the ledge: how far down, how far back from the opening
    grips: tuple[Grip, ...] | None = None  # None: not looked at
    holes_lit: Edges = NO_EDGES  # of each perforation's width, what may show past the lip, mm
    kind: int = 0  # which kind of film lies there, in a holder for several


@dataclass(frozen=True, slots=True)
class Slab:
    """A plate of the holder: a region between two heights above the glass."""

    name: str
    z0: float
    z1: float
    region: Region


@dataclass(frozen=True, slots=True)
class Cut:
    """Material taken away between two heights: ``outline`` at z1, grown by ``flare_mm`` at z0 (a chamfer).

    With a negative flare it is the smaller at z0, and widens upward (a bevel).
    """

    name: str
    outline: Outline
    z0: float
    z1: float
    flare_mm: float = 0.0
    magnet: tuple[float, float] | None = None  # diameter and thickness, mm, of the magnet it takes
    foot: bool = False  # a recess that takes a foot
    open_end: bool = False  # a slot through the wall, through which long film passes

    @property
    def chamfer(self) -> bool:
        """Whether it widens downward, as under a window's edge."""
        return self.flare_mm > 0

    @property
    def bevel(self) -> bool:
        """Whether it widens upward, as a lid's inner edges do."""
        return self.flare_mm < 0


@dataclass(frozen=True, slots=True)
class Groove:
    """Lettering: centre lines of single strokes, as wide and deep as the process makes them."""

    text: str
    strokes: tuple[tuple[Point, ...], ...]
    width_mm: float
    depth_mm: float
    z_top: float
    fixed: bool = False  # whether it means its own place, and is left out rather than moved
    beside: Literal["", "x", "y"] = ""  # axis of the edge of its pocket, for that pocket's number


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
        """Whether it belongs to the frame; lids and catches lie on it, stops beside it."""
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


HEIGHT_CELLS = 24  # of the film's heights over the picture, each way
Axis = Literal["x", "y"]


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


STILL: tuple[Point, ...] = ((0.0, 0.0),)


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
    in_pocket: ClassVar[str] = ""  # what lies in the pocket, where it is not the film itself
    lower_key: ClassVar[str] = ""  # the preset key that makes the holder lower
    stiff_key: ClassVar[str] = ""  # the preset key that makes the frame around it higher, and so stiffer

    @property
    def stands(self) -> tuple[Point, ...]:
        """Where the holder lies for each pass of a scan, as shifts from where it is drawn."""
        return STILL

    def beside(self, number: int) -> tuple[Rect, ...]:  # noqa: ARG002
        """What lies on the glass beside the holder in a pass, counted from 0."""
        return ()

    def scanning(self, number: int) -> str:  # noqa: ARG002
        """What to do before a pass, counted from 0, in words."""
        return ""

    @property
    def plates(self) -> tuple[Plate, ...]:
        """Bought plates, drawn where they lie."""
        return ()

    @property
    def in_pocket_mm(self) -> float:
        """How thick that is which lies in the pocket in place of the film, mm."""
        return 0.0

    @property
    def proud_mm(self) -> float:
        """How far the tab that it is lifted by stands above the frame beside it, mm."""
        return 0.0

    @property
    def lifted_by(self) -> str:
        """What of it a hand takes the lid by, in a word; "" where it is lifted by its tabs."""
        return ""

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

    def open_edges(self) -> frozenset[Edge]:
        """Sides of the holder where no wall stands before the film's end."""
        return frozenset()

    def further(self) -> tuple[Rect, ...]:
        """Where film goes on past its window's pocket, as seen from above."""
        return ()

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

    def forbidden(self) -> str:
        """Why it must not be made, in words, where no reason lifts that; "" where it may."""
        return ""

    def preparing(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """Steps before the film goes into the holder; ``what`` names it: film, plate or mount."""
        return ()

    def laying(self) -> str:
        """How film is laid into a holder that lies in its place already; "" where film goes in first, as usual."""
        return ""

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """Steps of laying the film in, from the film upward; ``what`` names it: film, plate or mount."""
        return ()

    def making(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Steps of putting it together."""
        return ()

    def afterwards(self) -> tuple[str, ...]:
        """Steps when the scan is done."""
        return ()

    def care(self) -> tuple[str, ...]:
        """What keeps it clean and the picture free of it."""
        return ()

    def gluing(self) -> str:
        """What must be kept free of glue when the frame's pieces are joined, in a sentence."""
        return ""

    def rings(self, job: Job) -> tuple[str, ...]:  # noqa: ARG002
        """How it is with Newton's rings at each of its own faces that film touches, in words."""
        return ()

    def takes(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Names of all things that its steps use, as ``holders/output/words/bench.py`` lists them."""
        return ()

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Lines of the shopping list."""
        return ()

    def printed_heights(self) -> tuple[str, ...]:
        """Names of the printed heights that add to the frame's own below the film."""
        return ()

    def record(self, design: Design) -> Mapping[str, object]:  # noqa: ARG002
        """What a program reads of it, and the manifest keeps."""
        return {}


@dataclass(frozen=True, slots=True)
class Held:
    """What one kind of film of a holder for several has of its own; the keys are those of :class:`Design`."""

    heights: Heights
    film_thickness: float
    pocket_depth: float
    fitted: tuple[Fitted, ...] = ()
    sag: Sag | None = None
    no_sag: NoSag = NoSag.NOT_ASKED
    no_sag_because: str = ""


@dataclass(frozen=True, slots=True)
class Design:
    """A holder with every number decided.

    A holder for several kinds of film has what each has of its own in ``kinds``; heights, sag and the like are then
    those of the kind of number ``kind``, and ``mine`` are its windows. :meth:`of` turns the design to another kind.
    """

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
    cards: tuple[Part, ...] = ()  # on the glass beside it, in empty pockets: of card or own sheet
    notes: tuple[str, ...] = ()
    sag: Sag | None = None
    no_sag: NoSag = NoSag.NOT_ASKED  # why there is no ``sag``, where there is none
    no_sag_because: str = ""  # the same in words
    seams: tuple[Seam, ...] = ()  # between pieces of parts too large for the printer
    fitted: tuple[Fitted, ...] = ()  # what each fitting of the preset made
    plate: Rect | None = None  # where parts may lie on the printer that makes them; None on the other routes
    whole_because: str = ""  # why a part too large for the printer was left in one piece, in words
    kinds: tuple[Held, ...] = ()  # of a holder for several kinds of film; empty for one
    kind: int = 0  # which of them is looked at

    @property
    def numbered(self) -> tuple[tuple[int, Window], ...]:
        """The windows of the kind of film that is looked at, each with its number in the holder (from 1)."""
        every = enumerate(self.windows, 1)
        return tuple(pair for pair in every if not self.kinds or pair[1].kind == self.kind)

    @property
    def mine(self) -> tuple[Window, ...]:
        """The windows of the kind of film that is looked at; all of a holder for one kind."""
        return tuple(window for _, window in self.numbered)

    def of(self, kind: int) -> Design:
        """The same holder with another of its kinds of film looked at."""
        if not self.kinds:
            return self
        own = {field.name: getattr(self.kinds[kind], field.name) for field in fields(Held)}
        return replace(self, kind=kind, **own)

    @property
    def each(self) -> tuple[Design, ...]:
        """The design once for each kind of film; itself alone where there is one."""
        return tuple(self.of(kind) for kind in range(len(self.kinds))) or (self,)

    @property
    def every_fitted(self) -> tuple[Fitted, ...]:
        """What the fittings left for each kind of film in the holder."""
        return tuple(made for mine in self.each for made in mine.fitted)

    @property
    def mask(self) -> tuple[Part, ...]:
        """The pieces of card that lie on the glass around the holder."""
        return tuple(card for card in self.cards if card.role is Role.MASK)

    @property
    def of_card(self) -> tuple[Part, ...]:
        """The pieces that are cut by knife from black card."""
        return tuple(card for card in self.cards if card.material == CARD)

    @property
    def of_sheet(self) -> tuple[Part, ...]:
        """Those that are cut from the holder's own sheet, beside its parts."""
        return tuple(card for card in self.cards if card.material != CARD)

    @property
    def foot_depths(self) -> tuple[float, ...]:
        """How deep each foot sits in the underside, mm: less deep where the holder must stand higher (a tilted bed)."""
        return tuple(self.foot_recess - foot.raise_mm for foot in self.feet)

    @property
    def stands(self) -> tuple[Point, ...]:
        """Where the holder lies for each pass of a scan, as shifts from where it is drawn; one where it stays."""
        return next((made.stands for made in self.fitted if made.stands != STILL), STILL)

    @property
    def on_film(self) -> Fitted:
        """What lies on the film and may be lifted by it; one that does nothing where there is none."""
        return next((made for made in self.fitted if made.on_film), Fitted())

    @property
    def in_pocket(self) -> str:
        """What lies in the pocket, in words: the film, or what it was laid on."""
        return next((made.in_pocket for made in self.fitted if made.in_pocket), "film")

    @property
    def in_pocket_mm(self) -> float:
        """How thick that is, mm."""
        return next((made.in_pocket_mm for made in self.fitted if made.in_pocket), self.film_thickness)

    @property
    def seen_above_mm(self) -> float:
        """How much higher than the lower face of the glass that film lies on the lens sees its picture, mm; else 0."""
        return self.heights.optics if any(made.in_pocket for made in self.fitted) else 0.0

    def find(self, kind: type[F]) -> F | None:
        """What a fitting of a kind made here; None where the preset has none."""
        return next((made for made in self.fitted if isinstance(made, kind)), None)
