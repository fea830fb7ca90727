"""A lift tab keeps the lid's clearance from its notch, also in a notch so narrow that its end is a half circle."""

from __future__ import annotations

import pytest
import shapely

from holders.design.draft.notches import Notch
from holders.fittings.lid.tabs import tab_radius_mm
from holders.geometry.outline import points, walled


@pytest.mark.parametrize("gap", [0.05, 0.1, 0.3, 0.5])
@pytest.mark.parametrize("width", [6.0, 10.0, 11.6, 12.0, 14.0, 18.0, 24.0])
@pytest.mark.parametrize("depth", [2.5, 4.0, 6.0, 8.0])
def test_the_tab_stays_clear_of_its_notch(width: float, depth: float, gap: float) -> None:
    notch = Notch("left", 50.0, width, depth, tab_mm=0.6 * width)
    room = walled(0, 0, 80, 100, 0.5, [notch.bay()])
    from holders.geometry.outline import Bay

    tab = Bay("left", 50.0, width * 0.6, depth, tab_radius_mm(notch, gap))
    lid = walled(gap, gap, 80 - 2 * gap, 100 - 2 * gap, 0.5, [tab])
    wall = shapely.Polygon(points(room, 1e-4)).exterior
    body = shapely.Polygon(points(lid, 1e-4))
    # beside the tab the pocket's sharp corners at the notch's mouth are nearer than its walls, never the tab's end
    near = body.intersection(shapely.box(-50, 0, -0.5, 100))
    assert near.distance(wall) >= gap - 1e-3
