"""Up to which curl a lid or glass cover stays down on the film."""

from __future__ import annotations

from dataclasses import dataclass

from holders.core.errors import InputError, NotConverged
from holders.design.held.held_film import sheet_of, support_of
from holders.design.model import Design
from holders.film.models import LidRest, Sheet, Support, Surface
from holders.film.ranges import STUDY_TOL, study_resolution
from holders.film.solver.interior import Effort
from holders.film.surface import solve_surface
from holders.preset.resolve import Job

EFFORT = 12.0  # billions of multiplications for one curl
CLOSE_PER_M = 0.02


@dataclass(frozen=True, slots=True)
class Pressed:
    """What film of one curl does to its lid; ``rest`` is None where no shape was found."""

    curl_per_m: float
    rest: LidRest | None


def pressed_at(job: Job, made: Design, curl_per_m: float) -> Pressed:
    """The lid or cover of a design on film of another curl across its short side."""
    sheet, support = _curled(job, made, curl_per_m), support_of(job, made)
    try:
        return Pressed(curl_per_m, _solved(sheet, support).lid)
    except (InputError, NotConverged):
        return Pressed(curl_per_m, None)


def lets_go_per_m(job: Job, made: Design, down_per_m: float, up_per_m: float) -> float | None:
    """The curl between one that the lid holds and one that lifts it, 1/m; None where it cannot be had.

    What the film needs to lie flat is taken to grow from the one to the other, as it does with curl of one sign.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - few films lift anything

    still = support_of(job, made)
    if still.hold is None:
        return None
    held = still.hold.force_n()
    down = still.model_copy(update={"hold": None})

    def lack(curl: float) -> float:
        return _solved(_curled(job, made, curl), down).pressed_down_n - held

    try:
        return float(brentq(lack, down_per_m, up_per_m, (), CLOSE_PER_M))
    except (InputError, NotConverged, ValueError):
        return None


def _curled(job: Job, made: Design, curl_per_m: float) -> Sheet:
    axis = "curl_y_per_m" if made.windows[0].turned else "curl_x_per_m"
    return sheet_of(job, made.windows[0]).model_copy(update={axis: curl_per_m})


def _solved(sheet: Sheet, support: Support) -> Surface:
    return solve_surface(
        sheet,
        support,
        tol=STUDY_TOL,
        resolution=study_resolution(support),
        effort=Effort(EFFORT),
        opens=False,
    )
