"""Cautions stand where someone can be hurt, and nowhere else."""

from __future__ import annotations

import pytest

from holders.checks.safety.cautions import cautions, hazards
from holders.design.model import Design, Role, Seam
from holders.fittings.lid.table import Lid
from holders.preset.resolve import Job
from holders.preset.tables.plain import table_of
from tests.checks.make_cover import covered
from tests.checks.make_design import job, make, with_lid

ALWAYS = {"lamp", "scanner"}
PRINT = {"print", "filament-particles"}


def keys(made: Job) -> set[str]:
    design = make(made.preset.route)
    lidded = table_of(made.preset, Lid) is not None
    return {hazard.key for hazard in hazards(made, with_lid(design) if lidded else design)}


@pytest.mark.parametrize(
    ("made", "wanted"),
    [
        (job(), {*PRINT, "nitrate"}),
        (job("knife"), {"knife", "dust", "nitrate", "super-glue"}),
        (job("laser"), {"laser", "dust", "nitrate", "super-glue"}),
        (job("laser", material={"family": "wood"}), {"laser", "wood-glue", "dust", "nitrate"}),
        (job("laser", material={"family": "board"}), {"laser", "board-smoke", "dust", "nitrate"}),
        (job("laser", material={"family": "acrylic"}), {"laser", "acrylic-vapour", "dust", "nitrate"}),
        (job(bed={"lamp": "fluorescent"}), {*PRINT, "mercury", "nitrate"}),
        (job(film={"kind": "small"}), {*PRINT, "nitrate"}),
        (job(base={"nitrate": True, "note": "It burns."}), {*PRINT, "nitrate"}),
        (job(base={"note": "Smells of vinegar."}), {*PRINT, "nitrate", "base"}),
        (job(material={"note": "Warps."}, film={"note": "Odd."}), {*PRINT, "nitrate", "material", "film"}),
        (
            job("laser", material={"laser": "forbidden"}),
            {"laser", "laser-forbidden", "dust", "nitrate", "super-glue"},
        ),
        (
            job("laser", material={"laser": "ask the operator"}),
            {"laser", "laser-ask", "dust", "nitrate", "super-glue"},
        ),
        (job(preset={"lid": {"magnets": 2}}), {*PRINT, "magnets", "nitrate"}),
        (job(preset={"lid": {}}), {*PRINT, "nitrate"}),
        (job(film={"kind": "plate"}, base={"rigid": True}), {*PRINT, "glass"}),
        (job(film={"kind": "mount"}), PRINT),
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
    """Eyes at the laser, cracked plates, and the pins of a cover over the scanner's glass."""
    texts = {h.key: h.text for h in hazards(job("laser"), make("laser"))}
    assert "lid shut" in texts["laser"]
    assert "eye" in texts["laser"]
    plate = job(film={"kind": "plate"}, base={"rigid": True})
    assert "cracked plate" in {h.key: h.text for h in hazards(plate, make())}["glass"]
    catches = {h.key: h.text for h in hazards(*covered())}["catches"]
    assert "a longer one comes through and scratches the scanner's glass" in catches
    assert "never drive a pin while the holder lies on the scanner" in catches


def test_nitrate_stops_and_says_why() -> None:
    """HSE leaflet INDG469: it catches fire very easily and is difficult to put out, its smoke is toxic (read)."""
    from holders.checks.safety.nitrate import Nitrate

    (found,) = Nitrate().check(job(base={"nitrate": True}), make())
    assert found.level == "stop"
    assert "catches fire very easily" in found.where
    assert "archive" in found.advice
    (other,) = Nitrate().check(job(), make())
    assert other.level == "pass"
    texts = {h.key: h.text for h in hazards(job(base={"nitrate": True}), make())}
    assert "extremely dangerous" in texts["nitrate"]


def test_magnets_keep_their_distance_from_implants() -> None:
    texts = {h.key: h.text for h in hazards(job(preset={"lid": {"magnets": 2}}), with_lid(make()))}
    assert "15 cm" in texts["magnets"]
    assert "breast pocket" in texts["magnets"]


@pytest.mark.parametrize("key", ["greyboard", "abs", "mdf"])
def test_notes_of_rows_are_among_the_cautions(key: str) -> None:
    from holders.facts.tables import material

    row = material(key)
    made = job(row.routes[0], material={"note": row.note})
    assert row.note in {h.text for h in hazards(made, make(made.preset.route))}


SEAM = Seam("frame", Role.FRAME, "x", 60.0, ((0.0, 10.0),), (), 0.1, "glue")


@pytest.mark.parametrize(
    ("made", "wanted"),
    [
        ((job(), make()), set()),
        ((job(), make(seams=(SEAM,))), {"super-glue"}),  # pieces of a frame too large for the printer
        ((job("laser", material={"family": "plastic"}), make("laser")), {"super-glue"}),
        (
            (job("laser", material={"family": "acrylic"}), make("laser")),
            set(),
        ),  # its cement is of another kind
        (covered(), {"super-glue", "cut-pins"}),  # catches, on pins
    ],
)
def test_glue_and_cut_pins_bring_their_cautions(made: tuple[Job, Design], wanted: set[str]) -> None:
    found = {h.key: h.text for h in hazards(*made)}
    assert found.keys() & {"super-glue", "cut-pins"} == wanted
    if "super-glue" in wanted:
        assert all(
            word in found["super-glue"] for word in ("eyelids", "safety glasses", "cotton", "air the room")
        )
    if "cut-pins" in wanted:
        assert all(word in found["cut-pins"] for word in ("safety glasses", "both ends", "burr"))
        assert {"saw", "file"} <= set(made[1].fitted[0].takes(made[1]))


def test_the_caution_of_the_glass_agrees_with_pushing_a_holder_against_its_stop() -> None:
    """The loading step pushes the holder gently the last few millimetres; the caution may not forbid that."""
    (text,) = (h.text for h in hazards(job(), make()) if h.key == "scanner")
    assert "do not slide" not in text
    assert "only the last few millimetres to its stop" in text
    assert "Wipe glass and holder clean" in text
