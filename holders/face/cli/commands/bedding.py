"""``bed``: what a bed's measurements say together."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from holders.core.errors import InputError
from holders.face.cli import show
from holders.face.cli.markup import escape


def bed(path: Path, out: Path, as_json: bool) -> None:
    """Print the bed's shape, what a holder must do about it, and the drift; draw the map to ``out``."""
    from holders.face.cli.answer import print_json
    from holders.measure.bed.plane import fit_drift
    from holders.measure.bed.record import load_record
    from holders.measure.bed.shape import fit_shape
    from holders.measure.reminders import focus_reminder
    from holders.output.bundle.write import write_one
    from holders.output.draw.bed import bed_sheet
    from holders.output.words.bed import colour_words, holder_words, shape_words

    places = load_record(path).measured
    if not places:
        raise InputError(
            "RECORD", str(path), "it holds no measurement yet; add one with `holders focus --record`"
        )
    try:
        shape, why = fit_shape(places), ""
    except InputError as error:
        shape, why = None, error.way_out
    drift = fit_drift(places)
    if as_json:
        print_json(_summary(places, shape, drift))
        return
    console = show.out()
    console.print(show.table(str(path), _COLUMNS, [_row(p) for p in places]))
    if shape is None:
        console.print(f"no map yet: {escape(why)}")
    else:
        for words in (*shape_words(places, shape), *holder_words(places, shape)):
            console.print(escape(words))
    for words in colour_words(places):
        console.print(escape(words))
    if drift is None:
        console.print("no place was measured on two days, so nothing is known of drift")
    else:
        real = "real" if drift.drifts else "not shown to be real"
        console.print(
            f"drift: {drift.per_year_mm:+.2f} ± {drift.sigma_mm:.2f} mm a year over {drift.days} days, {real}"
        )
    for words in focus_reminder(places, dt.datetime.now().astimezone().date()):
        console.print(escape(f"{words[0].upper()}{words[1:]}"))
    console.print(f"drawn: {escape(str(write_one(out, 'bed.svg', bed_sheet(places, shape))))}")
    console.print(f"use it: holders make PRESET --bed-record {escape(str(path))}")


_COLUMNS = ("day", "x mm", "y mm", "height mm", "sigma mm", "sharp ± mm", "dpi", "note")


def _row(p: Any) -> tuple[str, ...]:
    return (
        p.date.isoformat(),
        f"{p.x_mm:g}",
        f"{p.y_mm:g}",
        f"{p.height_mm:.3f}",
        f"{p.sigma_mm:.3f}",
        "" if p.band_mm is None else f"{p.band_mm:.2f}",
        f"{p.dpi:g}",
        p.note,
    )


def _summary(places: Any, shape: Any, drift: Any) -> dict[str, Any]:
    return {
        "places": [p.model_dump(mode="json") for p in places],
        "plane": None if shape is None else _plane(places, shape),
        "shape": None if shape is None else _shape(places, shape),
        "colours": _colours(places),
        "drift": None
        if drift is None
        else {
            "per_year": drift.per_year_mm,
            "sigma": drift.sigma_mm,
            "chance": drift.chance,
            "drifts": drift.drifts,
            "days": drift.days,
        },
    }


def _colours(places: Any) -> dict[str, Any] | None:
    from holders.measure.bed.colours import NAMES, colour_shapes, colours_of
    from holders.output.words.bed import colour_words

    seen, found = colours_of(places), colour_shapes(places)
    if seen is None:
        return None
    told = {
        "offset": list(seen.offset_mm), "sigma": list(seen.sigma_mm), "scatter": seen.scatter_mm, "places": seen.places,
        "holder": list(colour_words(places)),
    }  # fmt: skip
    if found is None:
        return told
    return told | {"maps": {n: _heights(places, s) for n, s in zip(NAMES, found.shapes, strict=True)}}


def _plane(places: Any, shape: Any) -> dict[str, Any]:
    """The plane that follows the bed best where it was measured."""
    from holders.measure.bed.plane import fit_plane
    from holders.output.words.bed import box_of

    box = box_of(places)
    height, sigma, _ = shape.over(box)
    tilt_x, tilt_y, real = shape.slope(box)
    plane = fit_plane(places)
    return {
        "x": (box[0] + box[2]) / 2, "y": (box[1] + box[3]) / 2, "height": height, "sigma": sigma, "tilt_x": tilt_x,
        "tilt_y": tilt_y, "tilt_x_sigma": float(plane.covariance[1, 1]) ** 0.5,
        "tilt_y_sigma": float(plane.covariance[2, 2]) ** 0.5, "chance_if_level": shape.chance_if_level, "tilted": real,
    }  # fmt: skip


def _shape(places: Any, shape: Any) -> dict[str, Any]:
    from holders.output.words.bed import box_of, holder_words

    return {
        **_heights(places, shape), "repeat": shape.repeat_mm, "chance_if_level": shape.chance_if_level,
        "uneven": shape.over(box_of(places))[2], "holder": list(holder_words(places, shape)),
    }  # fmt: skip


def _heights(places: Any, shape: Any) -> dict[str, Any]:
    """A shape's heights and their sigmas on a grid over what the places span."""
    import numpy as np

    from holders.output.words.bed import box_of

    x0, y0, x1, y1 = box_of(places)
    x, y = np.linspace(x0, x1, 5), np.linspace(y0, y1, 7)
    z, sigma = (v.reshape(7, 5).round(4).tolist() for v in shape.at(*(a.ravel() for a in np.meshgrid(x, y))))
    return {"kind": shape.kind, "x": x.tolist(), "y": y.tolist(), "z": z, "sigma": sigma}
