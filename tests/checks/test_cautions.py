"""Cautions stand where someone can be hurt, and nowhere else."""

from __future__ import annotations

import pytest

from holders.checks.safety.cautions import cautions, hazards
from holders.preset.resolve import Job
from tests.checks.make_cover import covered
from tests.checks.make_design import job, make

ALWAYS = {"lamp", "scanner"}


def keys(made: Job) -> set[str]:
    return {hazard.key for hazard in hazards(made, make(made.preset.route))}


@pytest.mark.parametrize(
    ("made", "wanted"),
    [
        (job(), {"print", "nitrate"}),
        (job("knife"), {"knife", "dust", "nitrate"}),
        (job("laser"), {"laser", "dust", "nitrate"}),
        (job("laser", material={"laser": "forbidden"}), {"laser", "laser-forbidden", "dust", "nitrate"}),
        (job("laser", material={"laser": "ask the operator"}), {"laser", "laser-ask", "dust", "nitrate"}),
        (job(preset={"lid": {"magnets": 2}}), {"print", "magnets", "nitrate"}),
        (job(preset={"lid": {}}), {"print", "nitrate"}),
        (job(film={"kind": "plate"}, base={"rigid": True}), {"print", "glass"}),
        (job(film={"kind": "mount"}), {"print"}),
    ],
)
def test_each_holder_has_its_cautions(made: Job, wanted: set[str]) -> None:
    assert keys(made) == wanted | ALWAYS


def test_cautions_defer_to_those_responsible() -> None:
    text = " ".join(cautions(job("laser"), make("laser")))
    assert "Local rules and the operator come before" in text
    assert "never left alone" in text
    nitrate = " ".join(cautions(job(), make()))
    assert "licences and local rules" in nitrate


def test_cautions_read_as_sentences() -> None:
    for line in cautions(job("laser", material={"laser": "forbidden"}), make("laser")):
        assert line.endswith(".")
        assert "  " not in line
        assert line[0].isupper()


def test_each_caution_names_its_own_danger() -> None:
    """Eyes at the laser, cracked plates, and the screws of a cover over the scanner's glass."""
    texts = {h.key: h.text for h in hazards(job("laser"), make("laser"))}
    assert "lid shut" in texts["laser"]
    assert "eye" in texts["laser"]
    plate = job(film={"kind": "plate"}, base={"rigid": True})
    assert "cracked plate" in {h.key: h.text for h in hazards(plate, make())}["glass"]
    cover = {h.key: h.text for h in hazards(*covered())}["cover"]
    assert "a longer one comes through and scratches the scanner's glass" in cover
    assert "never drive a screw while the holder lies on the scanner" in cover
