"""Lids, inserts and their steel in the hand: closed forms, and what the rules say of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from holders.checks.frame.stiff import InTheHand
from holders.core.findings import Finding
from holders.design.model import Design, Rect
from holders.design.parts.grillage import Beam, deflect
from holders.design.parts.members import Layer, Member, SectionMaterial
from holders.design.parts.steel import LaidBar
from holders.design.resolve import design
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.resolve import Job
from holders.preset.shipped import preset_path
from holders.study import job_of
from holders.workshop.stiffness.joints import pulled_lids
from holders.workshop.stiffness.loose import by_two_edges, held_loose, lid_across, loose_parts, openings_in
from holders.workshop.stiffness.stiffness import sag_by_two, stuff_of, with_bars


def made(name: str, **keys: object) -> tuple[Job, Design]:
    text = with_values(
        preset_path(Path(name)).read_text(), {k.replace("__", "."): v for k, v in keys.items()}
    )
    job, _ = job_of(parse(text, name))
    return job, design(job)


def said(job: Job, holder: Design) -> dict[str, Finding]:
    return {one.subject: one for one in InTheHand().check(job, holder)}


def cantilever(bar: LaidBar | None, long: float = 200.0, parts: int = 40) -> float:
    """Deflection of the free end of a weightless rail, E I 1e6 N mm², along y, 1 N at its end."""
    nodes = [(0.0, long * k / parts) for k in range(parts + 1)]
    beams = [Beam(k, k + 1, 1e6, 1e6, 0.0) for k in range(parts)]
    stiffened = [replace(b, load=0.0) for b in with_bars(nodes, beams, [] if bar is None else [bar])]
    return deflect(nodes, stiffened, [0], point_loads=[(parts, 1.0)]).w[-1]


def test_steel_along_a_part_of_a_rail_softens_by_what_it_leaves_bare() -> None:
    """P L³/3 E I, and of the parts by the unit load: P (L³ - a³)/3 E I at the root, the rest with both (any table)."""
    long, bare = 200.0, 50.0
    assert cantilever(None) == pytest.approx(long**3 / 3e6)
    bar = LaidBar(Rect(-4.0, bare, 8.0, long - bare), 0.0, 8.0)  # from 50 mm to the free end
    stiff = 1e6 + bar.stiffness_nmm2
    inner = long - bare
    assert cantilever(bar) == pytest.approx((long**3 - inner**3) / 3e6 + inner**3 / (3 * stiff), rel=1e-3)
    halfway = replace(bar, rect=Rect(-4.0, 52.5, 8.0, 147.5))  # ends in the middle of an element of 5 mm
    inner = 147.5
    wanted = (long**3 - inner**3) / 3e6 + inner**3 / (3 * stiff)
    assert cantilever(halfway) == pytest.approx(wanted, rel=2e-3)


def test_steel_lies_on_the_nearest_rail_alone_and_weighs_what_it_weighs() -> None:
    nodes = [(0.0, 0.0), (0.0, 100.0), (50.0, 0.0), (50.0, 100.0), (0.0, 0.0), (50.0, 0.0)]
    beams = [Beam(0, 1, 1e5, 1e5, 0.0), Beam(2, 3, 1e5, 1e5, 0.0), Beam(4, 5, 1e5, 1e5, 0.0)]
    bar = LaidBar(Rect(-6.0, 0.0, 8.0, 100.0), 0.0, 8.0)
    first, second, crossing = with_bars(nodes, beams, [bar])
    assert (second, crossing) == (beams[1], beams[2])
    assert first.bending == pytest.approx(1e5 + bar.stiffness_nmm2)
    assert first.load * 100.0 == pytest.approx(bar.weight_n)
    # 8 x 8 x 100 mm of steel, 7850 kg/m3: 50.2 g (any table)
    assert bar.weight_n == pytest.approx(0.0502 * 9.807, rel=0.01)
    # a square of side a: 0.1406 a^4 (Timoshenko and Goodier, torsion of bars, from memory)
    assert bar.torsion_nmm2 / (bar.stiffness_nmm2 * 12 / 8**4 / 2.6) == pytest.approx(0.1406 * 8**4, rel=0.01)


def test_held_by_two_edges_a_rail_is_the_beam_of_any_table() -> None:
    """5 q L⁴/384 E I (any table of beams), two rails between fingers."""
    stuff = SectionMaterial(2000.0, 0.3, 1200.0)
    wide, long = 60.0, 250.0  # between the rails' middles; fingers reach over the whole end rail
    rail, end = (Layer(6.0, 0.0, 3.0),), (Layer(6.0, 0.0, 60.0),)
    members = [
        Member((0.0, 0.0), (0.0, long), rail), Member((wide, 0.0), (wide, long), rail),
        Member((0.0, 0.0), (wide, 0.0), end), Member((0.0, long), (wide, long), end),
    ]  # fmt: skip
    # the end rail lies on its fingers and turns on them with the side rails: these are simply supported
    load = 1200.0 * 9.807e-9 * 18.0
    unit = load * long**4 / (384 * 2000.0 * 6.0 * 27.0 / 12)
    sag, length = sag_by_two(members, stuff, ("head", "foot"))
    assert length == long
    assert sag == pytest.approx(5 * unit, rel=1e-3)


def test_the_opening_of_a_split_lid_is_that_of_the_whole_one() -> None:
    _, holder = made("8x10-small-printer")
    _, whole = made("8x10-printed")
    (split,), (one,) = loose_parts(holder), loose_parts(whole)
    assert len(split.parts) == 2
    ((a,), (b,)) = openings_in(split.parts), openings_in(one.parts)
    assert (a.width, a.height) == pytest.approx((b.width, b.height), abs=0.01)


def test_shipped_lids_keep_their_shape_but_two_of_thin_sheet_with_steel_on_them() -> None:
    job, holder = made("8x10-printed")
    assert said(job, holder)["sag of the lid held by one edge"].level == "pass"
    for name in ("8x10-acrylic-lid", "6x9-roll"):
        job, holder = made(name)
        found = said(job, holder)["sag of the lid held by one edge"]
        assert found.level == "warn"
        assert "with the steel on it" in found.where
        assert "both hands" in found.advice
        (sags,) = [by_two_edges(stuff_of(job), one) for one in loose_parts(holder)]
        assert 0 < max(sag for _, sag in sags) < found.limit / 10  # type: ignore[operator]


def test_a_thinner_lid_and_heavier_steel_sag_more() -> None:
    heavy, light = (held_loose(stuff_of(job), loose_parts(holder)[0]) for job, holder in (
        made("8x10-acrylic-lid"), made("8x10-acrylic-lid", bars__sides="6x6", bars__ends="6x6")))  # fmt: skip
    assert light.sag_mm < heavy.sag_mm
    thin, thick = (held_loose(stuff_of(job), loose_parts(holder)[0]) for job, holder in (
        made("8x10-printed", lid__thickness_mm=3.0), made("8x10-printed")))  # fmt: skip
    assert thick.sag_mm < thin.sag_mm / 3


def test_insert_and_carrier_are_judged_each_by_itself() -> None:
    job, holder = made("4x5-insert")
    found = said(job, holder)
    for what in ("insert", "carrier"):
        assert found[f"sag of the {what} held by one edge"].level == "pass"
    by = {one.name: held_loose(stuff_of(job), one).free_length_mm for one in loose_parts(holder)}
    assert by["insert"] < by["carrier"]


def test_the_glue_of_a_lids_joint_carries_what_lies_beyond_it() -> None:
    """Half of the lid's rails hangs at half its length: by statics, with the part's own volume."""
    job, holder = made("8x10-small-printer")
    (seam,) = [seam for seam in holder.seams if seam.role.value == "lid"]
    (pulled,) = pulled_lids(job.material.density_kg_m3, holder)
    lid = lid_across(holder, seam)
    y0, y1 = min(part.box[1] for part in lid.parts), max(part.box[3] for part in lid.parts)
    (one,) = loose_parts(made("8x10-printed")[1])
    from holders.design.parts.volume import part_volume

    weight = part_volume(one.parts[0]) * job.material.density_kg_m3 * 9.807e-9
    beyond = max(y1 - seam.at_mm, seam.at_mm - y0)
    assert seam.axis == "y"
    share = beyond / (y1 - y0)
    # between rails alone (their middle at half of what hangs) and all of it at the far end
    assert 0.4 * weight * share * beyond < pulled.moment_nmm < weight * share * beyond
