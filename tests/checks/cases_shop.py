"""Ways in which the checks on tolerance, stock, stiffness, warmth and damp warn, stop or do not apply."""

from __future__ import annotations

from dataclasses import replace

from holders.design.model import Design, Part, Rect, Slab
from holders.design.sag import Sag
from tests.checks.case import Case, Made
from tests.checks.make_design import job, make, window, with_heights, with_lid

FOAM = {"modulus_mpa": 1.0, "compressible": True, "density_kg_m3": 100.0, "family": "foam"}


def _thin_frame() -> Design:
    """A printed frame of 2 mm: it bows and hangs."""
    made = make()
    slab = Slab("ledge", 0.5, 2.5, made.parts[0].slabs[0].region)
    return replace(made, parts=(Part("frame", "frame", "print", "stuff", 1, (slab,)),), total_height=2.5)


def _hanging(low: float, high: float) -> Made:
    """The film reaches from ``low`` to ``high`` about its ledge, and the ledge is aimed at its middle."""
    made = with_heights(make(), sharp_plane=3.1 - (low + high) / 2)
    return job(), replace(made, sag=Sag(-low, -(low + high) / 2, 1.0, 0.95, reach_mm=(low, high)))


def _reached(wanted: float, *sheets: float) -> Made:
    """A cut holder on one sheet of 3 mm whose ledge was wanted at ``wanted``."""
    listed = {"material": {"name": "stuff", "sheets_mm": list(sheets)}} if sheets else None
    shift = wanted - 3.0
    made = with_heights(make("knife"), ledge_wanted=wanted, focus=3.1 + shift)
    bed = {"focus_height_mm": 3.0 + shift, "focus_band_mm": 0.2}
    return job("knife", bed=bed, preset=listed), made


def _soft(modulus: float, *sheets: float) -> Made:
    listed = {"material": {"name": "stuff", "sheets_mm": list(sheets)}}
    return job("knife", material={**FOAM, "modulus_mpa": modulus}, preset=listed), make("knife")


SHOP_CASES = (
    Case("sharpness", "warn", lambda: _hanging(-1.3, 0.0), "of the picture", "lid"),
    Case("sharpness", "pass", lambda: _hanging(-0.2, 0.0), "of the picture"),
    Case("sharpness", "warn", lambda: (job(bed={"focus_sigma_mm": 0.5}), with_heights(make(), focus_sigma=0.5)),
         "of the picture", "bed.focus_sigma_mm"),
    Case("stock", "stop", lambda: (job("laser", material={"stock_mm": (2.0, 4.0)}), make("laser")), "every slab"),
    Case("stock", "stop", lambda: (job("laser", material={"stock_mm": ()}), make("laser")), field="material.sheets_mm"),
    Case("stock", "warn", lambda: (job("knife"), with_heights(make("knife"), ledge_wanted=3.4)), "whole sheets"),
    Case("stock", "stop", lambda: (job("knife"), with_heights(make("knife"), ledge_wanted=3.7)), "whole sheets"),
    Case("stock", "pass", lambda: _reached(3.0, 3.0, 2.0), "ranks"),
    Case("stock", "warn", lambda: _reached(3.5, 3.0, 2.0), "ranks", "material.sheets_mm"),
    Case("stock", "warn", lambda: _reached(3.3, 3.0, 2.0, 3.3), "ranks"),
    Case("stock", "warn", lambda: (job("laser", material={"stock_tolerance_mm": 0.4}), make("laser")), "spread", (
        "material.sheets_mm"
    )),
    Case("stock", "skip", lambda: (job(), make())),
    Case("soft-stock", "pass", lambda: _soft(1.0, 3.0, 2.0)),
    Case("soft-stock", "warn", lambda: _soft(0.65, 3.0, 2.0), field="material.name"),
    Case("soft-stock", "warn", lambda: _soft(0.2, 3.0, 2.0), field="material.sheets_mm"),
    Case("soft-stock", "skip", lambda: (job("knife"), make("knife"))),
    Case("lid-flat", "pass", lambda: (job(preset={"lid": {}}), with_lid(make()))),
    Case("lid-flat", "warn", lambda: (
        job(preset={"lid": {}}, material={"family": "foam", "modulus_mpa": 5e4}), with_lid(make())
    ), field="lid.thickness_mm"),
    Case("lid-flat", "skip", lambda: (job(), make())),
    Case("softening", "warn", lambda: (job(material={"limit_c": 40.0}), make()), "warmest", "material.name"),
    Case("softening", "stop", lambda: (job(material={"limit_c": 30.0, "softening_c": None}), make()), "warmest"),
    Case("softening", "warn", lambda: (job(material={"softening_c": 40.0}), make()), "margin", "material.name"),
    Case("softening", "stop", lambda: (job(material={"softening_c": 31.0}), make()), "margin"),
    Case("softening", "skip", lambda: (job(material={"softening_c": None}), make()), "margin"),
    Case("expansion", "warn", lambda: (job(material={"moisture_strain_per_rh": 1e-4}), make()), "rim", (
        "layout.slide_gap_mm"
    )),
    Case("expansion", "stop", lambda: (job(material={"moisture_strain_per_rh": 2e-4}), make()), "rim"),
    Case("expansion", "warn", lambda: (job(base={"humidity_strain_per_rh": 3e-4}), make()), "pocket", (
        "layout.clearance_mm"
    )),
    Case("expansion", "stop", lambda: (job(base={"humidity_strain_per_rh": 6e-4}), make()), "pocket"),
    Case("expansion", "skip", lambda: (job(), make(windows=())), "pocket"),
    Case("bow", "warn", lambda: (job(bed={"face_difference_k": 6.0}), make()), "warm face", "material.name"),
    Case("bow", "warn", lambda: (job("knife", material={"moisture_strain_per_rh": 1e-4}), make("knife")), (
        "damp face"
    ), "material.name"),
    Case("bow", "pass", lambda: (job("knife", material={"moisture_strain_per_rh": 1e-5}), make("knife")), "damp face"),
    Case("bow", "skip", lambda: (job(), make()), "damp face"),
    Case("frame-sag", "warn", lambda: (job(), _thin_frame()), "between", "feet.count"),
    Case("frame-sag", "warn", lambda: (
        job(), with_heights(_thin_frame(), foot_protrusion=0.9, band_low=2.3, band_high=3.9)
    ), "left warm", "feet.count"),
    Case("frame-sag", "skip", lambda: (job("laser"), make("laser"))),
    Case("in-hand", "pass", lambda: (job(), make())),
    Case("in-hand", "warn", lambda: (job("knife", material=FOAM), make("knife")), field="material.sheets_mm"),
    Case("in-hand", "warn", lambda: (job(material={"modulus_mpa": 30.0}), make()), field="layout.pocket_depth_mm"),
    Case("in-hand", "skip", lambda: (job(), make(windows=(window(Rect(-20, 80, 260, 100)),)))),
    Case("in-hand", "skip", lambda: (job("knife"), make("knife", windows=(), calibration=None))),
)  # fmt: skip
