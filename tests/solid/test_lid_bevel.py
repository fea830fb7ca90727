"""A bevelled lid as a solid: its volume is the closed form's, its mesh leans as the section says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from holders.design.parts.roles import own_lids
from holders.design.parts.sections import section
from holders.design.parts.volume import volume
from holders.design.resolve import design
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.solid.build import build
from holders.solid.mesh import mesh as mesh_of
from holders.solid.surfaces import volume as solid_volume
from holders.study import job_of


@pytest.mark.parametrize("name", ["5x7-printed", "35mm-roll"])
def test_a_lids_solid_is_bevelled(name: str) -> None:
    path = preset_path(Path(name))
    holder = design(job_of(parse(path.read_text(), str(path)))[0], uncut=True)
    lid = replace(own_lids(holder)[0], grooves=())
    (cut,) = (one for one in lid.cuts if one.flare_mm)
    solid = build(lid)
    want = volume(lid)
    assert want is not None
    assert solid_volume(solid) == pytest.approx(want, rel=1e-6)
    assert volume(replace(lid, cuts=())) != pytest.approx(want, rel=1e-3)
    mesh = mesh_of(solid)
    assert mesh.volume() == pytest.approx(want, rel=1e-3)
    # half way up the mesh is open where the section is
    z = (cut.z0 + cut.z1) / 2
    assert section(lid, z).area < section(lid, cut.z0 - 0.01).area
