"""What findings say of a holder made by hand: the place that is meant, the cure that fits, and nothing untrue."""

from __future__ import annotations

from dataclasses import replace

from holders.checks.focus.heights import PLATE, SagInFocus
from holders.checks.focus.sharp import _unknown
from holders.checks.frame.stiff import _soft_words
from holders.design.sag import Sag
from holders.fittings.lid.check import LidFit
from holders.workshop.stiffness.foam import SoftLedge
from tests.checks.make_design import job, make, with_lid
from tests.kept import shipped_study
from tests.presets_made import SHIPPED

SAGGING = Sag(max_mm=0.8, mean_mm=0.4, min_gap_mm=1.0, in_band_fraction=0.7)


def test_a_plate_that_sags_is_to_be_measured_and_film_is_not() -> None:
    """The thickness of glass decides how far it sags; film of its own cannot be made stiffer by measuring it."""
    share = "share of the film surface in focus"
    advice = {
        rigid: next(
            f.advice
            for f in SagInFocus().check(job(base={"rigid": rigid}), make(sag=SAGGING))
            if f.subject == share
        )
        for rigid in (True, False)
    }
    assert advice[True] == PLATE
    assert advice[False] != PLATE


def test_every_lip_that_covers_the_picture_is_named() -> None:
    """A strip's both ends, not the worse one alone."""
    found = next(
        one
        for one in shipped_study(next(path for path in SHIPPED if path.stem == "35mm-strips")).findings
        if one.code == "lip" and one.level == "warn"
    )
    assert "What is lost is 1.00 mm at the head and 1.00 mm at the foot" in found.advice


def test_of_film_without_curls_nothing_is_said_to_have_no_shape() -> None:
    assert _unknown(None, 101.0) == ""
    assert _unknown(SAGGING, 101.0) == ""


def test_of_places_that_are_equally_tight_the_lowest_is_named() -> None:
    """A lid in two steps of one outline: the same gap at both heights."""
    made = with_lid(make(), 0.1)
    lid = made.parts[-1]
    (slab,) = lid.slabs
    middle = (slab.z0 + slab.z1) / 2
    steps = (replace(slab, z1=middle), replace(slab, z0=middle))
    stepped = replace(made, parts=(*made.parts[:-1], replace(lid, slabs=steps)))
    found = next(
        f for f in LidFit().check(job(preset={"lid": {}}), stepped) if f.subject == "lid's side clearance"
    )
    height = float(found.where.split(", ")[1].split(" mm")[0])
    assert slab.z0 <= height < middle


def test_the_pressure_on_soft_stock_is_told_in_kilopascal() -> None:
    """0.5 kPa is 0.0005 MPa, as of 5 N on 100 cm²; measured heights and those under load stand beside it."""
    found = SoftLedge(5.0, -0.2, -0.4, -0.1, -0.3, 0.0005, holds=True)
    words = _soft_words(job("knife").preset, found)
    assert words == "5.00 mm is 4.80 mm (4.60 to 4.90) under 0.50 kPa, 4.70 mm after 1000 h"
