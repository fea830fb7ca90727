"""A preset that takes its film as it was measured: curl and ledge; then lids and covers tried on it.

The curl goes to ``[base]`` where the surface shows it. What is left of the ledge's error goes to the bed's focus
height, which the ledge follows, as after ``inspect``: film may also be stiffer or softer than its kind.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from holders.core.errors import HoldersError, InputError
from holders.core.lines import Candidate
from holders.facts.curl_words import curl_words, height_words
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.tables.supposed import without
from holders.study import Study, study
from holders.verdict.model import Step

LEAST_LEDGE_MM = 0.05  # less is finer than a layer or a sheet of paper
LEAST_GAIN = 0.01
CLEAR = 0.5  # a curl is kept where its sigma is at most this share of what film of its kind is expected to vary by
SOFT = 0.95  # with less of the film sharp, lids and covers are tried


@dataclass(frozen=True)
class Learned:
    """A preset's text that takes the measured film, and what was changed.

    ``changes``: (field, old, new); ``why``: a sentence on each thing learned or not; ``sharp_now``, ``sharp_then``:
    shares of the measured film in the sharp band with the old and the new ledge; ``next``: lids and covers that gain.
    """

    text: str
    changes: tuple[tuple[str, float | None, float], ...]
    why: tuple[str, ...]
    sharp_now: float
    sharp_then: float
    found: Study
    next: tuple[Step, ...]


def curl_of(studied: Study, found: Any) -> Any:
    """The curl across the film that a measured surface fits; None where no film of other curls is computed."""
    import numpy as np
    from scipy.interpolate import RegularGridInterpolator

    from holders.design.held.curl_shapes import curl_shapes
    from holders.measure.surface.curl import fit_curl, waves

    sag = studied.film.sag
    shapes = None if sag is None else curl_shapes(sag)
    if sag is None or shapes is None or not found.known.any():
        return None
    window, picture, cells = studied.design.mine[0], studied.film.picture, shapes.heights.shape[1]
    o, middles = window.opening, (np.arange(cells) + 0.5) / cells
    # as the scan shows it: y down from the holder's foot, so that the head's row comes last
    left = window.film.x + picture.left_mm - o.x
    foot = window.film.top - picture.head_mm - picture.height_mm - o.y
    across, down = left + middles * picture.width_mm, foot + middles * picture.height_mm
    xx, yy = np.meshgrid(
        (found.x_mm - found.x_mm[0]) * o.width / np.ptp(found.x_mm),
        (found.y_mm - found.y_mm[0]) * o.height / np.ptp(found.y_mm),
    )
    seen = found.known & (xx >= across[0]) & (xx <= across[-1]) & (yy >= down[0]) & (yy <= down[-1])
    places = np.stack([yy[seen], xx[seen]], axis=-1)

    def at_places(heights: Any) -> Any:
        return RegularGridInterpolator((down, across), heights[::-1])(places)

    def computed(curl: float) -> Any:
        return found.ledge_mm + at_places(shapes.at(curl)[0])

    unsure = [waves(xx[seen] / o.width, yy[seen] / o.height)]
    usual = studied.job.base.curl_per_m
    spread = shapes.of_base(usual, 0.05) - shapes.of_base(usual, 0.95)
    if np.ndim(
        spread
    ):  # between bases of its kind that are softer and stiffer than nine of ten: 1.64 deviations each
        unsure.append(at_places(spread)[:, None] / 3.29)
    root = found.root_mm[seen.ravel()]
    span = float(shapes.curls_per_m[0]), float(shapes.curls_per_m[-1])
    return fit_curl(found.z_mm[seen], root, computed, span, np.hstack(unsure))


def shows_curl(studied: Study, fit: Any) -> bool:
    """Whether a fitted curl says more than the table of film bases."""
    base = studied.job.base
    usual = (base.curl_high_per_m - base.curl_low_per_m) / 4
    return fit is not None and not (fit.open_low or fit.open_high) and bool(fit.sigma_per_m <= CLEAR * usual)


def learned_words(studied: Study, fit: Any) -> str:
    """What the surface says of the film's curl."""
    if fit is None:
        return "nothing is said of the curl: this film's other shapes are not computed"
    width = studied.job.film.cut_width_mm
    if shows_curl(studied, fit):
        sure = f"{fit.per_m:.1f} ± {max(0.1, fit.sigma_per_m):.1f} per m"
        return f"curl across the film {sure}, {height_words(fit.per_m, width)} in the middle of its width"
    low = "less" if fit.open_low else curl_words(fit.low_per_m, width, 1)
    high = "more" if fit.open_high else curl_words(fit.high_per_m, width, 1)
    return f"film of any curl from {low} to {high} lies so in this holder: it does not show the curl"


def learned(studied: Study, found: Any) -> Learned:
    """The preset of a study with what a measured surface says; raises ``InputError`` where no copy can be made."""
    fit = curl_of(studied, found)
    why, keys = [learned_words(studied, fit)], dict[str, Any]()
    if shows_curl(studied, fit):
        spread = 2 * max(0.1, fit.sigma_per_m)
        own = studied.job.own_key
        keys = {
            own("base.curl_low_per_m"): round(fit.per_m - spread, 2),
            own("base.curl_per_m"): round(fit.per_m, 2),
            own("base.curl_high_per_m"): round(fit.per_m + spread, 2),
        }
    now = _with(studied, keys)
    advice = found.ledge_advice
    if advice is None:
        raise InputError(
            "SCAN", "(no heights)", "nothing of the film's height is known, so nothing is learned"
        )
    off = advice.height_mm - now.design.heights.sharp_plane
    mean_sigma = found.sag_sigma_mm[1]
    share = sharp_at(found, now)
    if share > 1 - LEAST_GAIN:
        why.append("the ledge is right: all of the measured film is in focus")
    elif abs(off) < max(LEAST_LEDGE_MM, mean_sigma):
        why.append(f"the ledge is right to within {max(LEAST_LEDGE_MM, mean_sigma):.2f} mm")
    else:
        old = studied.job.bed.focus_height_mm
        aimed = {**keys, "bed.focus_height_mm": round(old + off, 2)}
        then = _with(studied, aimed)
        if sharp_at(found, then) > share + LEAST_GAIN:
            keys, now, share = aimed, then, sharp_at(found, then)
            why.append(
                f"the ledge {abs(off):.2f} mm {'higher' if off > 0 else 'lower'} puts most of the measured film in "
                f"focus: taken into the focus height, {old:g} before, which the ledge follows"
            )
        else:
            why.append(
                f"the measured film asks for a ledge {abs(off):.2f} mm {'higher' if off > 0 else 'lower'}, which gains "
                "nothing as it can be made"
            )
    steps: tuple[Step, ...] = ()
    if share < SOFT:
        steps = _held_flatter(now)
        why.append(
            f"{100 * share:.0f} % of the film sharp is what a ledge can do"
            + ("" if steps else "; no lid or cover gains here")
        )
    was = {
        "bed.focus_height_mm": studied.job.bed.focus_height_mm,
        **{
            studied.job.own_key(f"base.{k}"): getattr(studied.job.base, k)
            for k in ("curl_low_per_m", "curl_per_m", "curl_high_per_m")
        },
    }
    changes = tuple((field, was[field], float(value)) for field, value in keys.items())
    return Learned(now.preset_text, changes, tuple(why), found.in_band_fraction or 0.0, share, now, steps)


def sharp_at(found: Any, then: Study) -> float:
    """Share of the measured film in the sharp band if its ledge stood as in another study."""
    import numpy as np

    low, high = found.band_mm
    z = found.z_mm[found.known] + then.design.heights.sharp_plane - found.ledge_mm
    return float(np.mean((z >= low) & (z <= high)))


def _with(studied: Study, keys: dict[str, Any]) -> Study:
    if not keys:
        return studied
    preset = studied.job.whole_preset
    if preset.supposed:  # what was found here is supposed no longer
        keys = {**keys, "supposed": without(preset, keys) or None}
    text = with_values(studied.preset_text, keys)
    found = study(parse(text, studied.preset_file or "preset"), text).of(studied.job.kind)
    return replace(found, preset_file=studied.preset_file)


def _held_flatter(now: Study) -> tuple[Step, ...]:
    """Lids and covers that gain on this film, tried."""
    from holders.fittings.registry import FITTINGS, fitted_in
    from holders.search.candidates import rivals_of
    from holders.search.tried import with_steps

    def changes(found: Study) -> Iterator[Candidate]:
        preset = found.job.preset
        if found.job.base.rigid or any(kind.settles_film for kind in fitted_in(preset)):
            return
        for kind in FITTINGS:
            if kind.over_film:
                yield from kind.changes(found.job, rivals_of(kind, preset))

    try:
        return tuple(with_steps(now, changes=changes).verdict.next)
    except HoldersError:
        return ()
