"""What a measured surface says, in names and values."""

from __future__ import annotations

import numpy as np

from holders.measure.surface.outcome import SurfaceResult


def rows(found: SurfaceResult) -> list[tuple[str, str]]:
    """The result in names and values."""
    sag, unsure, known = found.sag_mm, found.sag_sigma_mm, found.known
    lines = []
    if sag is not None and unsure is not None:
        lowest, mean = unsure
        lines += [
            ("lowest point", f"{sag[0]:.2f} mm below the ledge (± {lowest:.2f})"),
            (
                "on average",
                f"{abs(sag[1]):.2f} mm {'below' if sag[1] >= 0 else 'above'} the ledge (± {mean:.2f})",
            ),
            ("highest point", f"{float(np.nanmax(found.z_mm)):.2f} mm above the glass"),
        ]
        if found.in_band_fraction is not None:
            lines.append(("sharp", f"{100 * found.in_band_fraction:.0f} % of what is known of the film"))
    advice, beside = found.ledge_advice, found.beside_prediction_mm
    if beside is not None:
        lines.append(
            ("beside the prediction", f"{beside[0]:+.2f} mm on average, {beside[1]:.2f} mm root mean square")
        )
    if advice is not None and advice.sharp_then > advice.sharp_now + 0.005:
        lines.append(
            (
                "best ledge",
                f"{abs(advice.change_mm):.2f} mm {'higher' if advice.change_mm > 0 else 'lower'}: "
                f"{100 * advice.sharp_now:.0f} -> {100 * advice.sharp_then:.0f} of 100 sharp",
            )
        )
    return [
        *lines,
        ("ledge", f"{found.ledge_mm:.2f} mm above the glass" + ("" if found.ledge_known else " (assumed)")),
        ("moved across", f"{abs(found.shift_mm):.2f} mm (± {found.shift_sigma_mm:.3f})"),
        ("lens distance", f"{found.lens_distance_mm:.0f} mm (± {found.lens_sigma_mm:.0f})"),
        ("measured at", f"{found.windows} places; {100 * found.kept:.0f} % of them fit"),
        ("known", f"{100 * float(known.mean()):.0f} % of the film's opening"),
    ]
