"""What a kind of fitting answers while a holder is designed; every answer here is "nothing"."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar

from holders.checks.base import Rule
from holders.core.errors import InputError
from holders.core.lines import Candidate, Choice
from holders.design.draft.levels import Levels
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout, Step
from holders.design.draft.stands import STAYS, Moves
from holders.design.model import Cut, Design, Edge, Fitted, Part, Rect, Role, Slab
from holders.geometry.outline import Outline
from holders.preset.resolve import Job
from holders.preset.tables.base import Table
from holders.preset.tables.plain import table_of
from holders.preset.words import Section

if TYPE_CHECKING:
    from holders.design.held.model import Filmed

T = TypeVar("T", bound=Table)


@dataclass(frozen=True, slots=True)
class Room:
    """Where the films must lie, if not anywhere on the bed.

    ``name`` is what the room is called in a refusal; ``refused`` makes the refusal of a film that needs so much width
    and length (mm).
    """

    rect: Rect
    name: str
    refused: Callable[[float, float], InputError]


@dataclass(frozen=True, slots=True)
class Named:
    """What a part is called, and what it is for."""

    name: str
    role: Role


@dataclass(frozen=True, slots=True)
class Nest:
    """A frame in two parts, the inner with the windows resting in the outer; lengths in mm.

    ``floor`` is the height above the glass that the inner part rests at, ``opening`` what of the outer part's floor is
    open, ``seat`` how far a window's edge must stay from the inner part's edge, ``corner`` how much the inner part's
    home corner loses and ``key`` what its pocket keeps there (round where ``hollow``), ``code`` the lettering that both
    share.
    """

    made: Fitted
    inner: Layout
    outer: Layout
    floor: float
    opening: Rect
    seat: float
    outline: Outline
    corner: float
    key: float
    code: str
    inner_part: Named
    outer_part: Named
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class Rivals:
    """What else lies on the film, of which there can be one only.

    ``away`` takes all other kinds out of a preset, ``there`` is the name of the one that the holder has ("": none).
    """

    away: Mapping[str, object]
    there: str


@dataclass(frozen=True, slots=True)
class Stage:
    """How far a design has come when its fittings are made: the part with the windows, its heights and notches."""

    layout: Layout
    levels: Levels
    notches: tuple[tuple[Notch, ...], ...]
    recess: float  # of the feet below it, mm
    corner: float  # how much of its home corner is taken off, mm
    nest: Nest | None = None


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole through every sheet that lies at ``above`` (mm over the glass) or higher."""

    outline: Outline
    above: float


@dataclass(frozen=True, slots=True)
class Added:
    """What one fitting adds to the drawing of a holder; ``fitted`` is what the design keeps of it.

    Parameters
    ----------
    parts:
        Its own parts.
    rails:
        Slabs of the frame between its floor and the ledge.
    cuts:
        Cuts in the frame.
    holes:
        Holes through the frame's sheets, where it is made of sheets.
    blocks:
        Places on the frame's top where nothing can be lettered.
    shades:
        What stands over the window's edge and may keep light from it.
    scoops:
        Whether the floor of a finger notch may be scooped out.
    """

    fitted: Fitted
    parts: tuple[Part, ...] = ()
    rails: tuple[Slab, ...] = ()
    cuts: tuple[Cut, ...] = ()
    holes: tuple[Hole, ...] = ()
    blocks: tuple[Rect, ...] = ()
    shades: tuple[Step, ...] = ()
    scoops: bool = True


class Fitting(Generic[T]):
    """A kind of fitting. A subclass names its preset table and answers what it changes; the rest stays as it is here.

    Attributes
    ----------
    key, table, section:
        The preset's table by its name, its keys, and the words over it on the page and in a commented preset.
    start:
        What the page writes into the table when somebody asks for the fitting, by route ("" for every other).
    rules:
        Checks of its own.
    records:
        Names of what a program can read of it: None in a design without it.
    over_film:
        What it is called where it lies on the film; only one such fitting can.
    shape_keys:
        Its keys that change how the film lies under it, more than by its weight.
    pocket_key:
        Its key for the gap in a pocket that is made like the film's: a test piece finds both.
    rides_on:
        The key of the fitting that it is part of, and goes with; "" for none.
    sees_more:
        What it does for film larger than the lamp area, in words; "" for a kind that is no help there.
    settles_film:
        Whether it alone decides how the film lies, so that nothing else that holds film is proposed beside it.
    takes_mixed:
        Whether it can be had in a holder for several kinds of film.
    """

    key: ClassVar[str]
    table: ClassVar[type[Table]]
    section: ClassVar[Section]
    start: ClassVar[Mapping[str, Mapping[str, Any]]] = {}
    rules: ClassVar[tuple[Rule, ...]] = ()
    records: ClassVar[tuple[str, ...]] = ()
    over_film: ClassVar[str] = ""
    shape_keys: ClassVar[frozenset[str]] = frozenset()
    pocket_key: ClassVar[str] = ""
    rides_on: ClassVar[str] = ""
    sees_more: ClassVar[str] = ""
    settles_film: ClassVar[bool] = False
    takes_mixed: ClassVar[bool] = False

    def given(self, job: Job) -> T:
        """Its table in a preset that has it."""
        found = table_of(job.preset, self.table)
        assert found is not None
        return found  # type: ignore[return-value]

    def room(self, job: Job) -> Room | None:  # noqa: ARG002
        """Where the films must lie, if not anywhere on the bed."""
        return None

    def moves(self, job: Job, opening: tuple[float, float]) -> Moves:  # noqa: ARG002
        """How the holder is moved between the passes of a scan with a window so wide and long (mm).

        Raises ``InputError`` where such a holder cannot be.
        """
        return STAYS

    def shoulder_mm(self, job: Job) -> float:  # noqa: ARG002
        """What it rests on beside the film's pocket, mm wide."""
        return 0.0

    def lip_mm(self, job: Job) -> float:  # noqa: ARG002
        """The lip that it needs under the film's edges where none is asked for, mm."""
        return 0.0

    def tabs(self, job: Job) -> int:  # noqa: ARG002
        """How many of a film's finger notches take a tab of it."""
        return 0

    def open_edges(self, layout: Layout) -> frozenset[Edge]:  # noqa: ARG002
        """Edges of every film where the wall is open, so that no finger notch has a place there."""
        return frozenset()

    def opening(self, job: Job) -> float | None:  # noqa: ARG002
        """What its tab needs on either side of a thumb opening that it closes, mm; None: it closes none."""
        return None

    def undercut_mm(self, job: Job) -> float:  # noqa: ARG002
        """How far its tabs stand out over a finger on either side, mm."""
        return 0.0

    def printed_below(self) -> int:
        """How many printed parts it lays below the one with the ledge: each begins with a first layer."""
        return 0

    def levels(self, job: Job, layout: Layout, plain: Levels) -> Levels:  # noqa: ARG002
        """The frame's heights with it. Raises ``InputError`` where they cannot be."""
        return plain

    def nest(self, job: Job, layout: Layout, levels: Levels) -> Nest | None:  # noqa: ARG002
        """The frame as two parts, one in the other. Raises ``InputError`` where that cannot be."""
        return None

    def fit(self, job: Job, stage: Stage) -> Added:
        """What it is, and what it adds. Raises ``InputError`` where it has no room."""
        raise NotImplementedError

    def dressed(self, job: Job, stage: Stage, added: Added, parts: tuple[Part, ...]) -> tuple[Part, ...]:  # noqa: ARG002
        """The parts of the fittings before it, with what it adds to them."""
        return parts

    def film(
        self,
        job: Job,  # noqa: ARG002
        first: Design,  # noqa: ARG002
        again: Callable[[float], Design],  # noqa: ARG002
    ) -> tuple[Design, Filmed] | None:
        """The design for the film as only this kind holds it; None where film lies as it does on any ledge.

        Parameters
        ----------
        first:
            The design with the ledge at the focus height.
        again:
            The same with the plane of a flat film at another height above the glass, mm.
        """
        return None

    def warm(self) -> None:
        """Load heavy libraries that only it needs, before somebody waits for them."""
        return

    def changes(self, job: Job, rivals: Rivals) -> Iterator[Candidate]:  # noqa: ARG002
        """Changes that might hold the film better, in a preset with it or without."""
        return iter(())

    def choices(self, job: Job, rivals: Rivals) -> Iterator[Choice]:  # noqa: ARG002
        """What a search for the best way to hold the film tries of it, in a preset with it or without."""
        return iter(())
