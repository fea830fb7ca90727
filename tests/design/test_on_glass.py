"""Film on glass of its own: where the lens sees its picture, how far the glass sags, and that all of it lies inside.

The image height is compared with rays traced by Snell's law, the sag with Timoshenko's table for square plates.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from holders.checks.safety.nitrate import Nitrate
from holders.core.errors import InputError
from holders.design.height.heights import image_rise_mm
from holders.design.held.film_in_holder import designed
from holders.design.held.plate_glass import plate_sag_mm
from holders.design.resolve import design
from holders.facts.tables import film_base, film_format
from holders.fittings.glasses.check import flattening_n
from holders.fittings.glasses.sandwich import Sandwich
from holders.fittings.glasses.table import Glasses
from holders.fittings.wet.mounted import Mounted
from holders.fittings.wet.table import Wet
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.preset.tables.bearer import OnGlass
from holders.workshop.budget.contributors import contributors
from tests.presets_made import job

PRESETS = Path(__file__).parent.parent.parent / "presets"
STEEP = 1e-3  # of the ray in air: its angle's tangent; paraxial to a part in a million


def traced_rise_mm(borne: OnGlass) -> float:
    """Where rays from the picture seem to come from, above the lower face of the lowest plate: Snell's law, exactly.

    The ray leaves the stack's lowest face at a small angle; what it travels sideways in each layer is added, and the
    ray in air prolonged upward by as much.
    """
    sine = STEEP / math.hypot(1.0, STEEP)
    aside = 0.0
    for layer in borne.layers:
        if layer.seen:
            inside = sine / layer.index
            aside += layer.thickness_mm * inside / math.sqrt(1 - inside**2)
    return aside / STEEP - sum(layer.thickness_mm for layer in borne.layers if layer.hangs)


def between(key: str = "4x5", emulsion: str = "down", **keys: Any) -> OnGlass:
    film = film_format(key)
    return Glasses(**keys).bear(film, film_base(film.base), emulsion)


def borne(key: str = "4x5", emulsion: str = "down", **keys: Any) -> OnGlass:
    film = film_format(key)
    return Wet(**keys).bear(film, film_base(film.base), emulsion)


@pytest.mark.parametrize("emulsion", ["down", "up"])
@pytest.mark.parametrize("side", ["over", "under"])
def test_the_image_lies_where_traced_rays_meet(side: str, emulsion: str) -> None:
    found = borne(emulsion=emulsion, side=side)
    assert found.rise_mm == pytest.approx(traced_rise_mm(found), abs=2e-6)


def test_a_plate_lifts_the_picture_by_t_less_t_over_n() -> None:
    """The plane-parallel plate of every textbook: the image lies t (1 - 1/n) below the object."""
    thin, thick = (borne(thickness_mm=t).rise_mm for t in (2.0, 5.0))
    n = film_base("glass").refractive_index
    assert (5.0 - 2.0) - (thick - thin) == pytest.approx(3.0 * (1 - 1 / n), abs=1e-12)


@pytest.mark.parametrize("emulsion", ["down", "up"])
def test_between_two_glasses_the_lower_one_alone_is_seen_through(emulsion: str) -> None:
    found = between(emulsion=emulsion, below_mm=1.8, above_mm=3.0)
    assert found.rise_mm == pytest.approx(traced_rise_mm(found), abs=2e-6)
    assert found.rise_mm == between(emulsion=emulsion, below_mm=1.8, above_mm=5.0).rise_mm
    film_above_ledge = 1.8 + (film_base("polyester").thickness_mm if emulsion == "up" else 0.0)
    shift = 1.8 * (1 - 1 / 1.52) + (0.18 * (1 - 1 / 1.64) if emulsion == "up" else 0.0)
    assert found.rise_mm == pytest.approx(film_above_ledge - shift, abs=1e-12)


def test_two_plates_bend_together() -> None:
    """Loose plates on one another share their load by stiffness: w = 0.00406 (q1 + q2) a^4 / (D1 + D2)."""
    found = between(below_mm=2.0, above_mm=3.0)
    glass, a = found.as_base(), 200.0
    keys = {"modulus_mpa": glass.modulus_mpa, "poisson": glass.poisson, "density_kg_m3": glass.density_kg_m3}
    _, _, w = plate_sag_mm(a, a, 2.0, **keys)
    q = (2500.0 * 5.0 + 0.2 * film_base("polyester").density_kg_m3) * 9.80665e-9
    d = 70000.0 * (2.0**3 + 3.0**3) / (12 * (1 - 0.2**2))
    assert float(w.max()) == pytest.approx(0.00406 * q * a**4 / d, rel=0.002)


def test_what_flattens_curled_film_is_a_beams_load_in_its_middle() -> None:
    """The load whose handbook deflection F b^3 / (48 E I) is the rise k b^2 / 8 of the curled strip."""
    base = film_base("polyester")
    load = flattening_n(base, 5.0, across_mm=100.0, along_mm=125.0)
    stiff = 4750.0 / (1 - 0.38**2) * 125.0 * 0.18**3 / 12
    assert load * 100.0**3 / (48 * stiff) == pytest.approx(5e-3 * 100.0**2 / 8, rel=1e-9)


def test_the_shipped_two_glasses_add_up_by_hand() -> None:
    made, _ = designed(resolve(load(PRESETS / "4x5-two-glasses.toml")))
    h, pair = made.heights, made.find(Sandwich)
    assert pair is not None
    assert h.sharp_plane == pytest.approx(h.ledge_above_glass + 1.95 / 1.52, abs=1e-9)
    assert pair.film_z == pytest.approx((h.drawn_ledge + 1.95, h.drawn_ledge + 2.15))
    assert pair.upper_z == pytest.approx((h.drawn_ledge + 2.15, h.drawn_ledge + 4.15))
    assert made.pocket_depth >= 3.15  # half of the upper plate lies below the wall's top
    assert pair.films[0].contains(made.windows[0].opening)
    assert pair.bare_mm == 0.0
    assert made.total_height == pytest.approx(h.drawn_ledge + 4.15)  # the upper plate stands above the wall


@pytest.mark.parametrize(("side", "wanted"), [("over", 0.2 / 1.52), ("under", None)])
def test_the_glass_counts_in_the_doubt_only_where_it_is_seen_through(side: str, wanted: float | None) -> None:
    asked = job(film={"format": "4x5"}, wet={"side": side})
    found = {part.name: part.limit_mm for part in contributors(asked, design(asked))}
    assert found.get("thickness of the glass") == (wanted if wanted is None else pytest.approx(wanted))
    fluid = 0.01 / 1.47 if side == "over" else 0.01 * (1 - 1 / 1.47)
    assert found["layer of fluid"] == pytest.approx(fluid)


def test_nitrate_film_stays_a_stop_on_glass() -> None:
    wanted = job(film={"format": "4x5"}, base={"name": "nitrate"}, wet={"flammable": "no"})
    (found,) = Nitrate().check(wanted, design(wanted))
    assert found.level == "stop"


def test_film_lies_on_glass_in_one_way_only() -> None:
    with pytest.raises(InputError, match="one way only"):
        job(wet={}, glasses={})


def test_below_the_glass_its_thickness_does_not_matter() -> None:
    assert borne(side="under", thickness_mm=2.0).rise_mm == borne(side="under", thickness_mm=5.0).rise_mm
    low = borne(side="under", emulsion="down")
    assert low.rise_mm == pytest.approx(-(0.2 + 0.04) + 0.02 / 1.47 - 0.1 * (1 - 1 / 1.64), abs=1e-12)


def test_the_height_sum_of_the_shipped_preset_adds_up_by_hand() -> None:
    wanted = resolve(load(PRESETS / "8x10-wet-mount.toml"))
    made, _ = designed(wanted)
    h = made.heights
    assert h.optics == pytest.approx(2.05 / 1.52 + 0.02 / 1.47, abs=1e-9)
    assert h.sharp_plane == pytest.approx(h.ledge_above_glass + 2.05 / 1.52 + 0.02 / 1.47, abs=1e-9)
    assert h.band_low < h.sharp_plane < h.band_high
    mounted = made.find(Mounted)
    assert mounted is not None
    # what is drawn: glass, fluid, film, fluid, overlay on one another
    ledge = h.drawn_ledge
    assert mounted.film_z == pytest.approx((ledge + 2.07, ledge + 2.27))
    assert mounted.overlay_z == pytest.approx((ledge + 2.29, ledge + 2.39))
    assert made.film_thickness == pytest.approx(2.39)
    window = made.windows[0]
    assert window.film.contains(mounted.overlays[0])
    assert mounted.overlays[0].contains(mounted.films[0])
    assert mounted.films[0].contains(window.picture)
    assert window.opening.contains(window.picture)


def test_the_emulsion_up_is_seen_through_its_base_as_well() -> None:
    down, up = (image_rise_mm(job(film={"format": "4x5", "emulsion": e}, wet={})) for e in ("down", "up"))
    base = film_base("polyester")
    assert up - down == pytest.approx(base.thickness_mm / base.refractive_index, abs=1e-12)


def test_film_below_the_glass_hangs_nearer_to_the_scanner() -> None:
    """Its least gap is that of the overlay, not of the glass."""
    wanted = job(film={"format": "4x5"}, wet={"side": "under"})
    made, film = designed(wanted)
    assert made.sag is not None
    assert film.grid is not None
    hang = 0.2 + 2 * 0.02 + 0.1
    assert made.sag.min_gap_mm == pytest.approx(float(film.grid.z.min()) - hang, abs=1e-9)


def test_the_sag_is_the_plates_alone() -> None:
    """A square plate on its edges hangs 0.00406 q a^4 / D (Timoshenko and Woinowsky-Krieger, table 8: from memory)."""
    found = borne()
    glass = found.as_base()
    a, t = 200.0, found.plates_mm[0]
    _, _, w = plate_sag_mm(
        a, a, t, modulus_mpa=glass.modulus_mpa, poisson=glass.poisson, density_kg_m3=glass.density_kg_m3
    )
    film = 0.2 * film_base("polyester").density_kg_m3
    q = (2500.0 * t + film) * 9.80665e-9
    d = 70000.0 * t**3 / (12 * (1 - 0.2**2))
    assert float(w.max()) == pytest.approx(0.00406 * q * a**4 / d, rel=0.002)


def test_curl_does_not_move_film_on_glass() -> None:
    one, two = (
        designed(job(film={"format": "4x5"}, wet={}, base={"curl_per_m": curl, "curl_high_per_m": 9.0}))[0]
        for curl in (0.5, 5.0)
    )
    assert one.sag is not None
    assert two.sag is not None
    assert one.sag.max_mm == two.sag.max_mm


@pytest.mark.parametrize(
    ("keys", "field"),
    [
        ({"film": {"format": "plate-whole"}}, "wet"),
        ({"film": {"format": "mount-50"}}, "wet"),
        ({"wet": {"width_mm": 100.0}}, "wet.width_mm"),
        ({"lid": {"thickness_mm": 4.0}}, "wet"),
        ({"lip": {"rebate_edge": "head"}}, "lip.rebate_edge"),
        ({"layout": {"pocket_depth_mm": 2.0}}, "layout.pocket_depth_mm"),
    ],
)
def test_what_cannot_be_is_refused_by_name(keys: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as refused:
        designed(job(**({"film": {"format": "4x5"}, "wet": {}} | keys)))
    assert refused.value.field == field
