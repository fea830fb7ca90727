"""What every part's solid keeps to."""

from __future__ import annotations

from typing import Any

import pytest

from holders.design.model import Part
from holders.design.parts.volume import part_volume
from holders.solid.build import build
from holders.solid.mesh import mesh
from holders.solid.surfaces import solids, valid
from holders.solid.surfaces import volume as solid_volume


def sound(part: Part) -> Any:
    """The part's solid: one valid closed body of its slabs' volume, and so is its mesh."""
    body = build(part)
    assert len(solids(body)) == 1
    assert valid(body)
    assert solid_volume(body) == pytest.approx(part_volume(part), rel=2e-5)
    triangles = mesh(body)
    assert triangles.open_edges() == 0
    assert triangles.volume() == pytest.approx(solid_volume(body), rel=1e-3)
    return body
