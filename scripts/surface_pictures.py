"""The pictures of docs/surface.md: how a second scan sees height, and a measured film (simulated).

Run from the project root: ``PYTHONPATH=. python scripts/surface_pictures.py``
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from holders.measure.surface.measure import Known, measure_surface  # noqa: E402
from holders.output.draw.canvas import AXIS, EDGE, FINE, GHOST, Pen, Picture  # noqa: E402
from holders.output.draw.surface import surface_sheet  # noqa: E402
from tests.simulators import shifted_pair as simulator  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
FILM = Pen(0.7)
GLASS, LENS = 44.0, 104.0


def scan(picture: Picture, left: float, words: str, move: float) -> None:
    """One scan seen from the front: lens below, glass, holder and film above it, a ray to the lowest point."""
    middle = left + 50
    picture.text((left, 14), words, 3.4, bold=True)
    picture.line((left, GLASS), (left + 100, GLASS), EDGE)
    picture.text((left, GLASS + 4.5), "glass", 2.6)
    picture.line((middle, 20), (middle, LENS), AXIS)
    picture.polygon(
        [[(middle - 4, LENS), (middle + 4, LENS), (middle + 3, LENS + 3), (middle - 3, LENS + 3)]], EDGE
    )
    picture.text((middle + 7, LENS + 3), "lens, some 300 mm away", 2.6)
    film = left + 12 + move
    for x in (film - 6, film + 40):
        picture.polygon([[(x, GLASS - 14), (x + 6, GLASS - 14), (x + 6, GLASS), (x, GLASS)]], FINE, "#ccc")
    steps = [k / 20 for k in range(21)]
    picture.strokes([[(film + 40 * t, GLASS - 14 + 9 * 4 * t * (1 - t)) for t in steps]], FILM)
    picture.strokes([[(film, GLASS - 14), (film + 40, GLASS - 14)]], GHOST)
    low = (film + 20, GLASS - 5)
    share = (LENS - GLASS) / (LENS - low[1])
    flat = (film + 20, GLASS - 14)
    share_flat = (LENS - GLASS) / (LENS - flat[1])
    picture.line(low, (middle, LENS), FINE)
    picture.line(flat, (middle, LENS), GHOST)
    for point, part in ((low, share), (flat, share_flat)):
        picture.circle(
            (middle + (point[0] - middle) * part, GLASS), 0.8, FINE, "#000" if point is low else "#fff"
        )
    picture.circle(low, 0.9, FINE, "#000")


def how() -> bytes:
    """Why a move across shows height."""
    picture = Picture(230, 128)
    scan(picture, 8, "First scan", 0)
    scan(picture, 122, "Second scan, the holder moved across", 42)
    picture.text(
        (8, 120), "Black: where sagging film is seen on the glass. White: where flat film would be.", 3
    )
    picture.text(
        (8, 125), "The gap between the two changes as the holder moves: that change is the height.", 3
    )
    return picture.svg("Why a move across the bed shows height")


def measured() -> bytes:
    """A simulated 6x6 negative that warms between the scans, measured from three."""
    case = simulator.draw_case(0, "moving", window="6x6", dpi=600)
    with tempfile.TemporaryDirectory() as folder:
        paths = [simulator.write(Path(folder) / f"{k}.tif", case, k) for k in range(len(case.poses))]
        known = Known(ledge_mm=case.surface.ledge_mm, lens_distance_mm=case.lens_distance_mm)
        return surface_sheet(measure_surface(*paths, known=known))


if __name__ == "__main__":
    (PICTURES / "surface-how.svg").write_bytes(how())
    if "--how" not in sys.argv:
        (PICTURES / "surface.svg").write_bytes(measured())
