"""A corner radius that would cut into a pocket is refused with the largest that does not."""

from __future__ import annotations

import re

import pytest
import shapely

from holders.core.errors import InputError
from holders.design.resolve import design
from holders.geometry.outline import points
from tests.presets_made import job


@pytest.mark.parametrize("route", ["laser", "print"])
def test_the_refusal_names_a_radius_that_works(route: str) -> None:
    material = {"laser": "acrylic-cast", "print": "petg"}[route]
    fixed = {"route": route, "material": {"name": material}, "printer": {"name": "p300"}}
    with pytest.raises(InputError) as refused:
        design(job(**fixed, layout={"count": "fill", "corner_radius_mm": 30.0}))
    assert refused.value.field == "layout.corner_radius_mm"
    found = re.search(r"at most ([0-9.]+) mm", refused.value.way_out)
    assert found is not None
    most = float(found.group(1))
    assert 5.0 < most < 30.0
    made = design(job(**fixed, layout={"count": "fill", "corner_radius_mm": most}))
    for part in made.parts:
        for slab in part.slabs:
            outer = shapely.Polygon(points(slab.region.outer))
            for hole in slab.region.holes:
                assert outer.contains(shapely.Polygon(points(hole)))
    with pytest.raises(InputError):
        design(job(**fixed, layout={"count": "fill", "corner_radius_mm": most + 0.2}))
