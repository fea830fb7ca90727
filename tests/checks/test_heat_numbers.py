"""Warmth, damp, feet and hand in findings: the numbers against arithmetic on designs made by hand."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from holders.checks.frame.heat import Bow, Expansion, Softening
from holders.checks.frame.stiff import InTheHand, OwnWeight, SoftStock
from holders.design.model import Rect
from holders.design.parts.volume import part_volume
from holders.design.resolve import design
from holders.facts.models import Material
from holders.facts.tables import material, table
from holders.fittings.cover.pane import Pane
from holders.fittings.lid.check import LidFlat
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.workshop.stiffness.standing import hanging
from holders.workshop.stiffness.warm import warmth
from tests.checks.make_design import FILM, job, make, with_heights, with_lid
from tests.presets_made import SHIPPED
from tests.refit import refitted

OWN = 1270 * 9.80665e-9  # N/mm³ of the plastic


def test_softening_adds_room_and_lamp_and_names_its_test() -> None:
    warm = job(preset={"room": {"ambient_c": 30.0}}, bed={"lamp_rise_k": 24.0}, material={"limit_c": 55.0})
    found, margin = Softening().check(warm, make())
    assert (found.level, found.measured, found.limit) == ("warn", 54.0, 45.0)
    # 1 K below the limit with root(2² + 3²) = 3.606 K: 0.277 sigma, 39.1 % (normal table)
    assert "39.1 % likely" in found.where
    assert "± 3.6 K" in found.where
    assert (margin.level, margin.measured) == ("pass", 22.0)  # 76 - 54
    assert "76 °C by the test (deflection)" in margin.where
    hot = job(preset={"room": {"ambient_c": 30.0}}, bed={"lamp_rise_k": 26.0}, material={"limit_c": 55.0})
    assert [f.level for f in Softening().check(hot, make())] == ["stop", "pass"]


def test_materials_that_stand_the_warmth_are_named_by_the_same_check() -> None:
    warm = job(preset={"room": {"ambient_c": 22.0}}, bed={"lamp_rise_k": 38.0}, material={"limit_c": 50.0})
    found, _ = Softening().check(warm, make())
    assert found.level == "stop"
    named = re.search(r"take (.*), which this check passes at the same warmth; else let", found.advice)
    assert named is not None
    printed = [row for row in table("materials") if isinstance(row, Material) and "print" in row.routes]
    for row in printed:
        again = Softening().check(replace(warm, material=row), make())
        stands = all(one.level in ("pass", "skip") for one in again)
        assert (row.name.removesuffix(", printed") in re.split(", | or ", named[1])) is stands, row.key
    # none of them stands an oven of 138 °C, where polycarbonate itself softens (its row)
    oven = job(preset={"room": {"ambient_c": 38.0}}, bed={"lamp_rise_k": 100.0})
    assert next(Softening().check(oven, make())).advice.startswith("let the scanner cool")


def test_growth_by_warmth_is_not_cured_by_the_air_of_the_room() -> None:
    hot = job(bed={"lamp_rise_k": 60.0}, material={"expansion_per_k": 1e-4, "moisture_strain_per_rh": 0.0})
    warm = [one for one in Expansion().check(hot, make()) if one.level in ("warn", "stop")]
    assert warm
    assert all("wider gap" in one.advice or "more clearance" in one.advice for one in warm)
    damp = job(bed={"lamp_rise_k": 0.0}, material={"expansion_per_k": 1e-4, "moisture_strain_per_rh": 3e-4})
    wet = [one for one in Expansion().check(damp, make()) if one.level in ("warn", "stop")]
    assert wet
    assert all("air of the room" in one.advice for one in wet)


def test_what_is_left_of_the_stiffness_is_told() -> None:
    # at 23 °C a plastic keeps 1/(1 + 1) after 1000 h and 1/(1 + (8/1000)^0.2) = 72 % after 8 h (habits, from memory)
    cool = job(preset={"room": {"ambient_c": 23.0}}, bed={"lamp_rise_k": 0.0})
    _, margin = Softening().check(cool, make())
    assert "after 8 h so warm and loaded 72% of its stiffness is left, after 1000 h 50%" in margin.where
    molten = job(material={"softening_c": 31.0, "limit_c": 200.0})
    _, gone = Softening().check(molten, make())
    assert (gone.level, gone.measured) == ("stop", -1.0)
    assert "nothing is left" in gone.where


def test_expansion_counts_both_causes_and_states_them() -> None:
    outer, pocket = Expansion().check(job(material={"moisture_strain_per_rh": 2e-5}), make())
    assert outer.measured == pytest.approx(296 * (65e-6 * 10 + 2e-5 * 20), abs=1e-4)
    assert outer.limit == pytest.approx(0.5)
    assert f"{296 * 65e-6 * 10:.3f} mm by 10 K" in outer.where
    assert f"{296 * 2e-5 * 20:.3f} mm by 20 % humidity" in outer.where
    # the frame grows more by the lamp than the film, which loosens it: only the dry day counts
    assert pocket.measured == pytest.approx(125 * 1.2e-5 * 20, abs=1e-4)
    assert pocket.limit == pytest.approx(0.6)


def test_expansion_by_published_coefficients() -> None:
    # cast acrylic, 77e-6 per kelvin (a supplier's page, read): 296 mm grow 0.228 mm in 10 K
    acrylic, _ = Expansion().check(job(material={"expansion_per_k": 77e-6}), make())
    assert acrylic.measured == pytest.approx(0.228, abs=5e-4)
    # plywood, 2e-5 per % relative humidity (an association's bulletin, read second-hand): 0.118 mm for 20 %
    ply, _ = Expansion().check(job(material={"expansion_per_k": 0.0, "moisture_strain_per_rh": 2e-5}), make())
    assert ply.measured == pytest.approx(0.1184, abs=1e-4)
    # coated polyester film: about twice 8e-6 per % humidity, 40 µm on 500 mm for 5 % (a film maker's page, read)
    rigid = {"expansion_per_k": 0.0}
    _, film = Expansion().check(
        job(material=rigid, base={"expansion_per_k": 0.0, "humidity_strain_per_rh": 2 * 8e-6}), make()
    )
    assert film.measured == pytest.approx(125 / 500 * 0.040 * 20 / 5, abs=1e-4)


def test_bow_between_feet_is_the_sphere_over_them() -> None:
    # 65e-6 x 3 K over 4.6 mm (Timoshenko and Woinowsky-Krieger): bowed alike both ways, it rises over its corner feet
    # by kappa/2 (u (a - u) + v (b - v)); a sagging frame that does not reach the glass is lifted by all of it
    found, damp = Bow().check(job(bed={"face_difference_k": 3.0}), make())
    x, y = FILM.x + 2.5 - 6.5, 148.5 - 10.0  # the ledge beside the middle of the window
    assert found.measured == pytest.approx(65e-6 * 3 / 4.6 / 2 * (x * (203 - x) + y * (277 - y)), rel=2e-3)
    assert found.limit == pytest.approx(0.3)
    assert f"free bow {65e-6 * 3 / 4.6 * 296**2 / 8:.2f} mm" in found.where
    assert "between its feet" in found.where
    assert damp.level == "skip"


def test_a_flat_holder_is_pressed_back_by_its_weight() -> None:
    # dome on its ends: the middle drops by 5 q L⁴/384 E I, as long as q L² / (E I kappa) stays below 8
    hot = job("laser", bed={"face_difference_k": 6.0})
    (found, _) = Bow().check(hot, make("laser"))
    kappa = 65e-6 * 6 / 5.0
    pull = OWN * 12 / (4000 * 25) * 296**2 / kappa
    assert pull < 8
    sag = 5 * 12 * OWN * 296**4 / (384 * 4000 * 25)
    assert found.measured == pytest.approx(kappa * 296**2 / 8 - sag, abs=2e-4)
    assert "on the glass" in found.where


def test_damp_bows_board() -> None:
    board = job("knife", material={"moisture_strain_per_rh": 1e-4, "expansion_per_k": 0.0})
    warm, damp = Bow().check(board, make("knife"))
    assert warm.measured == 0.0
    assert f"free bow {1e-4 * 5 / 5.0 * 296**2 / 8:.2f} mm" in damp.where
    assert (damp.level, damp.field) == ("warn", "material.name")
    assert "damp" in damp.subject


def test_acrylic_takes_a_month_and_what_nobody_has_published_is_not_called_nothing() -> None:
    """Most of acrylic's change comes within 15 to 30 days (bulletin PLA 72e, read); board takes the air in a day.

    How far PETG swells was found nowhere; polypropylene takes up next to no water (from memory).
    """
    damp = {"moisture_strain_per_rh": 1e-4, "expansion_per_k": 0.0}
    waits = {
        key: next(
            f.advice
            for f in Bow().check(
                replace(job("laser"), material=material(key).measured(**damp)), make("laser")
            )
            if "damp" in f.subject
        )
        for key in ("acrylic-cast", "mat-board")
    }
    assert "for 30 days" in waits["acrylic-cast"]
    assert "for a day" in waits["mat-board"]
    for key, words in (("petg", "is not known"), ("pp", "it does not grow")):
        made = replace(job(), material=material(key))
        _, skipped = Bow().check(made, make())
        assert skipped.level == "skip"
        assert words in skipped.advice
        assert all(("not known" in f.where) == (key == "petg") for f in Expansion().check(made, make()))


def test_frame_sag_is_that_of_the_grid_after_a_session() -> None:
    """The grid itself is checked against Roark's beams in tests/workshop/test_shop_onfeet.py."""
    made, wanted = make(), job()
    hangs = hanging(wanted, made)
    assert hangs is not None
    session, later = OwnWeight().check(wanted, made)
    assert (session.measured, later.measured) == pytest.approx((hangs.session_mm, hangs.later_mm), abs=1e-4)
    assert (session.limit, later.limit) == pytest.approx((0.3, 0.6))
    assert f"{hangs.now_mm:.2f} mm at once" in session.where
    assert "skins 0.8 mm solid, 25 % fill inside" in session.where
    # elastic: what creep leaves of the modulus divides the sag
    left = warmth(wanted).modulus_left
    assert left is not None
    assert hangs.session_mm * left[0] == pytest.approx(hangs.now_mm, rel=1e-6)
    lidded, pane = with_lid(made), Pane((Rect(FILM.x, FILM.y, 100, 125),), 3.3, 5.3, "plain", 0.5, 0.0)
    heavier = [hanging(wanted, d) for d in (lidded, refitted(lidded, pane))]
    assert all(h is not None for h in heavier)
    shares = [hangs.load_share, *(h.load_share for h in heavier if h is not None)]
    sags = [hangs.now_mm, *(h.now_mm for h in heavier if h is not None)]
    assert [s / shares[0] for s in shares] == pytest.approx([s / sags[0] for s in sags], rel=1e-6)


def test_a_frame_on_the_glass_says_so_and_what_would_lift_it() -> None:
    session, later = OwnWeight().check(job(material={"modulus_mpa": 300.0}), make())
    assert session.measured == later.measured == pytest.approx(0.5)
    assert "come down on the glass, as its feet hold it only 0.50 mm" in session.where
    assert "without its [feet]" in session.advice
    assert session.level == "warn"
    stiff = job(
        material={"modulus_mpa": 20000.0}, bed={"lamp_rise_k": 0.0}, preset={"room": {"ambient_c": 23.0}}
    )
    now, late = hanging(stiff, make()), list(OwnWeight().check(stiff, make()))[1]
    assert now is not None
    assert float(late.measured or 0) / now.now_mm == pytest.approx(2.0, rel=0.02)  # creep of 1
    assert "glass" not in late.where


def test_the_cures_of_a_sagging_frame_are_tried_before_they_are_named() -> None:
    """On the lead preset's bed feet find no room beside an 8x10 window: more of them would not help."""
    path = next(p for p in SHIPPED if p.stem == "8x10-small-printer")
    shipped = resolve(load(path))
    flat = shipped.preset.layout.model_copy(update={"pocket_depth_mm": 2.2})
    assert shipped.preset.feet is not None
    wide = {"form": "round", "length_mm": None, "diameter_mm": 8.0}  # too wide for the rails
    few = shipped.preset.feet.model_copy(update=wide)
    changes = {"layout": flat, "lid": None, "feet": few}
    wanted = replace(shipped, preset=shipped.preset.model_copy(update=changes))
    found = next(iter(OwnWeight().check(wanted, design(wanted))))
    assert found.level == "warn"
    assert not re.search(r"\d feet", found.advice)
    thick = re.search(r"layout.pocket_depth_mm = ([\d.]+)", found.advice)
    assert thick is not None
    table = wanted.preset.layout.model_copy(update={"pocket_depth_mm": float(thick[1])})
    cured = replace(wanted, preset=wanted.preset.model_copy(update={"layout": table}))
    assert next(iter(OwnWeight().check(cured, design(cured)))).level == "pass"


def test_in_the_hand_by_the_edge_that_is_best() -> None:
    from holders.workshop.stiffness.stiffness import held_by_each_edge

    made = job(), make()
    held = held_by_each_edge(*made)
    edge, sag, limit = held[-1]
    (found,) = InTheHand().check(*made)
    assert (found.level, found.limit) == ("pass", pytest.approx(limit, abs=1e-4))
    assert found.measured == pytest.approx(sag, abs=1e-4)
    assert f"held by its {edge} edge" in found.where


def test_two_millimetres_of_foam_do_not_keep_their_shape() -> None:
    foam = {"modulus_mpa": 1.0, "density_kg_m3": 100.0, "poisson": 0.3}
    (found,) = InTheHand().check(job("knife", material=foam), make("knife"))
    assert found.level == "warn"
    assert "will not keep its shape" in found.where
    assert "hangs" in found.where
    assert float(found.measured or 0) <= 300  # it cannot sag farther than it is long


def test_the_cure_named_is_one_that_cures() -> None:
    soft = job("knife", material={"modulus_mpa": 60.0, "density_kg_m3": 300.0})
    (found,) = InTheHand().check(soft, make("knife"))
    assert found.level == "warn"
    thick = float(found.advice.split("make it ")[1].split(" mm")[0])
    assert thick > 5.0
    made = make("knife")
    scale = (thick + 0.06) / 5.0  # told to a tenth of a millimetre
    parts = tuple(
        replace(p, slabs=tuple(replace(s, z0=s.z0 * scale, z1=s.z1 * scale) for s in p.slabs))
        for p in made.parts
    )
    (cured,) = InTheHand().check(soft, replace(made, parts=parts))
    assert cured.level == "pass"


def test_a_lid_settles_or_stays_warped() -> None:
    lidded = with_lid(make())
    (found,) = LidFlat().check(job(preset={"lid": {}}), lidded)
    side, thick = 125.5, 1.62  # pocket of 126.1 less two gaps of 0.3
    settles = 5 * 12 * OWN * side**4 / (384 * 4000 * thick**2)
    assert found.measured == pytest.approx(max(0.0, 0.3 * (side / 300) ** 2 - settles), abs=2e-3)
    assert found.level == "pass"
    board = job(preset={"lid": {}}, material={"family": "foam", "modulus_mpa": 50000.0})
    (warped,) = LidFlat().check(board, lidded)
    assert warped.measured == pytest.approx(
        2.0 * (side / 300) ** 2, abs=2e-2
    )  # 2 mm over 300, and nothing settles
    assert warped.level == "warn"


def test_soft_sheets_are_thicker_than_the_caliper_says() -> None:
    foam = {"modulus_mpa": 1.0, "compressible": True, "density_kg_m3": 100.0, "family": "foam"}
    measured = job("knife", material=foam, preset={"material": {"name": "stuff", "sheets_mm": [2.0, 3.0]}})
    (found,) = SoftStock().check(measured, make("knife"))
    # 0.03 MPa on 1 MPa is 3 % (Hooke): 3 mm read are 3/0.97 = 3.093; at half the modulus 3/0.94 = 3.191
    assert "is 3.09 mm (3.05 to 3.19)" in found.where
    assert found.measured == pytest.approx(3 / 0.94 - 3, abs=2e-3)
    assert found.level == "pass"
    nominal = next(SoftStock().check(job("knife", material=foam), make("knife")))
    assert (
        float(nominal.measured or 0) < 1e-3
    )  # a sheet as sold was not squeezed, and its own weight is nothing
    soft = job("knife", material={**foam, "modulus_mpa": 0.5}, preset=measured.preset.model_dump())
    (worse,) = SoftStock().check(soft, make("knife"))
    assert worse.level == "warn"
    mush = job("knife", material={**foam, "modulus_mpa": 0.2}, preset=measured.preset.model_dump())
    (refused,) = SoftStock().check(mush, make("knife"))
    assert refused.level == "warn"
    assert "glass plate" in refused.advice


def test_feet_under_soft_stock_carry_it_on_little_ground() -> None:
    from holders.workshop.stiffness.foam import soft_ledge

    foam = {"modulus_mpa": 0.05, "compressible": True, "density_kg_m3": 300.0, "family": "foam"}
    wanted = job("knife", material=foam)
    flat = make("knife")
    on_feet = with_heights(replace(make("knife"), feet=make().feet), foot_protrusion=1.0)
    lying, stood = soft_ledge(wanted, flat), soft_ledge(wanted, on_feet)
    assert lying is not None
    assert stood is not None
    area = 4 * 3.14159 * 3.0**2
    low, high = flat.parts
    weight = (part_volume(high) + part_volume(low) / 2) * 300 * 9.80665e-9
    assert stood.pressure_mpa == pytest.approx(weight / area, rel=1e-4)
    assert stood.off_mm == pytest.approx(-3.0 * weight / area / 0.05, rel=1e-3)
    assert stood.off_mm < lying.off_mm < 0
    assert stood.later_mm is not None
    assert stood.later_mm < stood.off_mm
    assert soft_ledge(job("knife"), flat) is None


def test_a_lid_without_sides_is_another_checks_business() -> None:
    """Its hole is as large as its body (seen when odd designs were tried)."""
    lidded = with_lid(make())
    lid = lidded.parts[-1]
    slab = lid.slabs[0]
    hollow = replace(lid, slabs=(replace(slab, region=replace(slab.region, holes=(slab.region.outer,))),))
    (found,) = LidFlat().check(job(preset={"lid": {}}), replace(lidded, parts=(*lidded.parts[:-1], hollow)))
    assert found.level == "skip"
    assert found.advice == "the lid's sides are cut through"
