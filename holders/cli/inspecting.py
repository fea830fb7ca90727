"""``inspect``: a finished scan in; rings, sharpness across the frame, skew and edges out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.markup import escape

from holders.cli import show
from holders.cli.focusing import progress_line
from holders.study import Study, study_file

# a scan's first row is the home end of the bed, so what a scan shows on top is the holder's foot
SHOWN = {"left": "left", "right": "right", "head": "foot", "foot": "head"}


def inspect(scan: Path, preset: Path | None, dpi: float | None, as_json: bool) -> None:
    """Inspect and tell."""
    from holders.cli.main import print_json
    from holders.inspect.look import inspect_scan

    expected = None if preset is None else expected_of(study_file(preset))
    with progress_line() as tell:
        found = inspect_scan(str(scan), design=expected, dpi=dpi, progress=tell)
    if as_json:
        print_json(found.to_contract())
        return
    _tell(found)


def expected_of(found: Study) -> Any:
    """The first window of the design as a scan should show it (y down, home end on top)."""
    import numpy as np

    from holders.inspect.expected import Box, Expected

    window, lip = found.design.windows[0], found.job.preset.lip
    o, p, grid = window.opening, window.picture, found.film.grid
    heights: dict[str, Any] = {}
    if grid is not None and found.job.film.kind != "mount":
        heights = {
            "heights_x_mm": np.asarray(grid.x) + window.film.x - o.x,
            "heights_y_mm": (window.film.height - np.asarray(grid.y))[::-1] + window.film.y - o.y,
            "heights_mm": np.asarray(grid.z)[::-1] + found.design.heights.optics,
        }
    edge = lip.rebate_edge
    return Expected(
        window_mm=(o.width, o.height),
        picture=Box(p.x - o.x, p.y - o.y, p.width, p.height),
        rebate_edge=None if edge is None else SHOWN[edge],  # type: ignore[arg-type]
        rebate_mm=lip.rebate_mm if edge is not None else 0.0,
        band_mm=(found.design.heights.band_low, found.design.heights.band_high),
        **heights,
    )


def _tell(found: Any) -> None:
    data, console = found.to_contract(), show.out()
    rings, sharp = data["rings"], data["sharpness"]
    rows = [
        ("rings", f"{'found' if rings['found'] else 'none found'} (score {rings['score']}, by {rings['evidence']})"),
        ("sharp", f"{100 * (sharp['in_band_fraction'] or 0):.0f} % of what the picture lets judge; "
                  f"pattern: {sharp['pattern']}"),
        ("turned by", "unknown" if data["skew_deg"] is None else f"{data['skew_deg']:.3f} degrees"),
        ("film edges", ", ".join(f"{k} {v} mm" for k, v in data["film_edges"].items()) or "not seen"),
    ]  # fmt: skip
    console.print(show.grid(rows))
    for place in rings["where"]:
        console.print(
            f"  rings near x {place['x']}, y {place['y']} mm, contrast {100 * place['contrast']:.1f} %",
            markup=False,
        )
    for advice in data["advice"]:
        console.print(f"advice: {escape(str(advice['what']))}")
    for words in data["warnings"]:
        console.print(f"[yellow]warning[/]: {escape(words)}")
