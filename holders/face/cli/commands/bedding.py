"""``bed``: what a bed's measurements say together."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from holders.core.errors import InputError
from holders.face.cli import show
from holders.face.cli.markup import escape


def bed(path: Path, out: Path, as_json: bool) -> None:
    """Tell the plane through the places, whether a tilt is real, and the drift."""
    from holders.face.cli.answer import print_json
    from holders.measure.bed.plane import fit_drift, fit_plane
    from holders.measure.bed.record import load_record
    from holders.output.bundle.write import write_one
    from holders.output.draw.bed import bed_sheet

    places = load_record(path).measured
    if not places:
        raise InputError(
            "RECORD", str(path), "it holds no measurement yet; add one with `holders focus --record`"
        )
    try:
        plane, why = fit_plane(places), ""
    except InputError as error:
        plane, why = None, error.way_out
    drift = fit_drift(places)
    if as_json:
        print_json(_summary(places, plane, drift))
        return
    console = show.out()
    console.print(show.table(str(path), _COLUMNS, [_row(p) for p in places]))
    if plane is None:
        console.print(f"no plane yet: {escape(why)}")
    else:
        sx, sy = (1000 * float(plane.covariance[k, k]) ** 0.5 for k in (1, 2))
        console.print(
            f"plane: {plane.height_mm:.3f} mm in the middle; "
            f"tilt across {1000 * plane.tilt_x:+.2f} ± {sx:.2f} mm per m, "
            f"along {1000 * plane.tilt_y:+.2f} ± {sy:.2f} mm per m"
        )
        console.print(
            f"a level bed would look as uneven as this with probability {plane.chance:.3g}: "
            + (
                "the tilt is real, designs follow it"
                if plane.tilted
                else "no tilt is shown, designs take the mean"
            )
        )
    if drift is None:
        console.print("no place was measured on two days, so nothing is known of drift")
    else:
        real = "real" if drift.drifts else "not shown to be real"
        console.print(
            f"drift: {drift.per_year_mm:+.2f} ± {drift.sigma_mm:.2f} mm a year over {drift.days} days, {real}"
        )
    console.print(f"drawn: {escape(str(write_one(out, 'bed.svg', bed_sheet(places, plane))))}")
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


def _summary(places: Any, plane: Any, drift: Any) -> dict[str, Any]:
    return {
        "places": [p.model_dump(mode="json") for p in places],
        "plane": None
        if plane is None
        else {
            "x": plane.x_mm,
            "y": plane.y_mm,
            "height": plane.height_mm,
            "tilt_x": plane.tilt_x,
            "tilt_y": plane.tilt_y,
            "tilt_x_sigma": float(plane.covariance[1, 1]) ** 0.5,
            "tilt_y_sigma": float(plane.covariance[2, 2]) ** 0.5,
            "chance_if_level": plane.chance,
            "tilted": plane.tilted,
        },
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
