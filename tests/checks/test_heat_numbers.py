"""Warmth, damp, feet and hand in findings: the numbers against arithmetic on designs made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holders.checks.heat import Bow, Expansion, Softening
from holders.checks.stiff import InTheHand, LidFlat, OwnWeight, SoftStock
from holders.design.model import Pane, Rect
from holders.design.volume import part_volume
from holders.findings import Finding
from tests.checks.make_design import FILM, job, make, with_heights, with_lid

OWN = 1270 * 9.81e-9  # N/mm³ of the plastic


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


def test_bow_between_feet_is_the_arc_over_the_way_between_them() -> None:
    # 65e-6 x 3 K over 4.6 mm, feet 277 mm apart: kappa L²/8 (Timoshenko and Woinowsky-Krieger); a sagging frame that
    # does not reach the glass is lifted by all of it
    found, damp = Bow().check(job(bed={"face_difference_k": 3.0}), make())
    assert found.measured == pytest.approx(65e-6 * 3 / 4.6 * 277**2 / 8, abs=1e-4)
    assert found.limit == pytest.approx(0.3)
    assert f"free bow {65e-6 * 3 / 4.6 * 296**2 / 8:.2f} mm" in found.where
    assert "between its feet" in found.where
    assert damp.level == "skip"


def test_a_flat_holder_is_pressed_back_by_its_weight() -> None:
    # dome on its ends: the middle drops by 5 q L⁴/384 E I, as long as q L² / (E I kappa) stays below 8
    hot = job("laser", bed={"face_difference_k": 6.0})
    (found, _) = Bow().check(hot, make("laser"))
    kappa = 65e-6 * 6 / 5.0
    pull = OWN * 12 / (2000 * 25) * 296**2 / kappa
    assert pull < 8
    sag = 5 * 12 * OWN * 296**4 / (384 * 2000 * 25)
    assert found.measured == pytest.approx(kappa * 296**2 / 8 - sag, abs=2e-4)
    assert "on the glass" in found.where


def test_damp_bows_board() -> None:
    board = job("knife", material={"moisture_strain_per_rh": 1e-4, "expansion_per_k": 0.0})
    warm, damp = Bow().check(board, make("knife"))
    assert warm.measured == 0.0
    assert f"free bow {1e-4 * 5 / 5.0 * 296**2 / 8:.2f} mm" in damp.where
    assert (damp.level, damp.field) == ("warn", "material.name")
    assert "damp" in damp.title


def one(found: list[Finding], words: str = "sag of the frame between") -> Finding:
    return next(f for f in found if words in f.title)


def frame_sag(share: float, modulus: float = 2000.0) -> float:
    return 5 * 12 * OWN * share * 277**4 / (384 * modulus * 4.6**2)


def test_frame_sag_carries_film_and_lid_too() -> None:
    """Beam on simple supports; 5/384 is the strip limit of plate tables (0.01302, Roark, from memory)."""
    made = make()
    own = part_volume(made.parts[0])
    film = 100 * 125 * 0.18 * 1390 / 1270
    plain = one(list(OwnWeight().check(job(), made)))
    assert plain.measured == pytest.approx(frame_sag(1 + film / own), abs=1e-4)
    lidded = with_lid(made)
    heavy = one(list(OwnWeight().check(job(), lidded)))
    assert heavy.measured == pytest.approx(
        frame_sag(1 + (film + part_volume(lidded.parts[-1])) / own), abs=1e-4
    )
    # 2500 kg/m³ of glass, EN 572-1 (from memory)
    pane = Pane((Rect(FILM.x, FILM.y, 100, 125),), 3.3, 5.3, "plain", 0.5, 0.0)
    covered = one(list(OwnWeight().check(job(), replace(made, pane=pane))))
    share = 1 + (film + 100 * 125 * 2 * 2500 / 1270) / own
    assert covered.measured == pytest.approx(min(0.5, frame_sag(share)), abs=1e-4)


def test_feet_in_the_middle_halve_the_span() -> None:
    made = make()
    six = (*made.feet, *(replace(made.feet[0], x=x, y=148.5) for x in (6.5, 209.5)))
    found = one(list(OwnWeight().check(job(), replace(made, feet=six))))
    assert "203 mm between feet" in found.where  # across the head it is now farther than along a side (138.5)
    three = (made.feet[0], made.feet[2], replace(made.feet[1], y=148.5))
    along = one(list(OwnWeight().check(job(), replace(made, feet=three))))
    assert "277 mm between feet" in along.where  # a foot on the other side carries nothing here


def test_frame_cannot_hang_below_the_glass_and_creeps() -> None:
    now, later = OwnWeight().check(job(material={"modulus_mpa": 50.0}), make())
    assert now.measured == later.measured == pytest.approx(0.5)
    assert "rests on the glass" in now.where
    stiff = job(
        material={"modulus_mpa": 20000.0}, bed={"lamp_rise_k": 0.0}, preset={"room": {"ambient_c": 23.0}}
    )
    now, later = OwnWeight().check(stiff, make())
    assert float(later.measured or 0) / float(now.measured or 1) == pytest.approx(2.0, rel=0.02)  # creep of 1
    assert later.limit == pytest.approx(0.6)


def test_in_the_hand_by_the_edge_that_is_best() -> None:
    from holders.shop.stiffness import held_by_each_edge

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
    settles = 5 * 12 * OWN * side**4 / (384 * 2000 * thick**2)
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
    from holders.shop.foam import soft_ledge

    foam = {"modulus_mpa": 0.05, "compressible": True, "density_kg_m3": 300.0, "family": "foam"}
    wanted = job("knife", material=foam)
    flat = make("knife")
    on_feet = with_heights(replace(make("knife"), feet=make().feet), foot_protrusion=1.0)
    lying, stood = soft_ledge(wanted, flat), soft_ledge(wanted, on_feet)
    assert lying is not None
    assert stood is not None
    area = 4 * 3.14159 * 3.0**2
    low, high = flat.parts
    weight = (part_volume(high) + part_volume(low) / 2) * 300 * 9.81e-9
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
