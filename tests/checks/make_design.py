"""Jobs and designs made by hand, so that what a check measures is known beforehand.

One film of 100 x 125 mm (± 0.5) with a picture of 94 x 119 mm lies on a 216 x 297 mm bed; lips 2.5 mm all round.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from holders.design.height_sum import Heights
from holders.design.model import Cut, Design, Edges, Foot, Part, Rect, Role, Slab, Window
from holders.facts.models import Bed, FilmBase, FilmFormat, Material, Paper, Printer
from holders.fittings.lid.fitted import LidFrame
from holders.geometry.outline import Outline, Region, circle, rectangle
from holders.preset.resolve import Job
from holders.preset.schema import Preset

ROW = {"source": "invented for the tests", "status": "invented"}
OUTER = Rect(0.5, 0.5, 215.0, 296.0)
FILM = Rect(58.0, 86.0, 100.0, 125.0)
LIPS = Edges(2.5, 2.5, 2.5, 2.5)
MARGIN = 0.55  # half the tolerance and 0.3 mm of clearance
FEET = (Foot(6.5, 10.0, 6.0), Foot(209.5, 10.0, 6.0), Foot(6.5, 287.0, 6.0), Foot(209.5, 287.0, 6.0))


def bed(**over: Any) -> Bed:
    base: dict[str, Any] = dict(
        key="bed", name="a bed", **ROW, glass_width_mm=216.0, glass_length_mm=297.0,
        lamp_x_mm=12.0, lamp_y_mm=25.0, lamp_width_mm=192.0, lamp_length_mm=250.0,
        calibration_x_mm=40.0, calibration_y_mm=0.0, calibration_width_mm=130.0, calibration_length_mm=8.0,
        lid_room_mm=15.0, focus_height_mm=3.1, focus_sigma_mm=0.1, focus_band_mm=0.6,
        lens_distance_mm=400.0, lamp_rise_k=10.0, face_difference_k=1.0,
    )  # fmt: skip
    return Bed(**{**base, **over})


def film(**over: Any) -> FilmFormat:
    base: dict[str, Any] = dict(
        key="sheet", name="a sheet", **ROW, kind="sheet", cut_width_mm=100.0, cut_height_mm=125.0, tolerance_mm=0.5,
        image_width_mm=94.0, image_height_mm=119.0, base="base", thickness_mm=0.18,
    )  # fmt: skip
    return FilmFormat(**{**base, **over})


def base(**over: Any) -> FilmBase:
    known: dict[str, Any] = dict(
        key="base", name="a base", **ROW, thickness_mm=0.18, thickness_low_mm=0.15, thickness_high_mm=0.21,
        modulus_mpa=4500.0, modulus_low_mpa=4000.0, modulus_high_mpa=5000.0, poisson=0.38, density_kg_m3=1390.0,
        refractive_index=1.6, curl_low_per_m=0.0, curl_per_m=1.0, curl_high_per_m=3.0,
        humidity_strain_per_rh=8e-6, base_humidity_strain_per_rh=6e-6, expansion_per_k=17e-6,
    )  # fmt: skip
    return FilmBase(**{**known, **over})


def material(route: str, **over: Any) -> Material:
    known: dict[str, Any] = dict(
        key="stuff", name="a material", **ROW, routes=(route,), family="plastic", density_kg_m3=1270.0,
        modulus_mpa=4000.0, poisson=0.38, expansion_per_k=65e-6, softening_c=76.0, softening_method="(deflection)",
        limit_c=70.0, laser="allowed", kerf_mm=0.2, stock_mm=(2.0, 3.0), stock_tolerance_mm=0.1,
        sheet_width_mm=600.0, sheet_height_mm=400.0, min_web_mm=1.0,
    )  # fmt: skip
    return Material(**{**known, **over})


def printer(**over: Any) -> Printer:
    known: dict[str, Any] = dict(
        key="printer", name="a printer", **ROW, build_x_mm=300.0, build_y_mm=300.0, build_z_mm=300.0, margin_mm=1.0,
        nozzle_mm=0.4, layer_mm=0.2, first_layer_mm=0.2, z_tolerance_mm=0.05,
    )  # fmt: skip
    return Printer(**{**known, **over})


def job(route: str = "print", *, preset: dict[str, Any] | None = None, **over: dict[str, Any]) -> Job:
    """A job; ``bed``, ``film``, ``base``, ``material``, ``printer`` override facts, ``preset`` whole tables."""
    named: dict[str, Any] = {
        "holders_preset": 1, "title": "a holder", "route": route, "bed": {"name": "bed"}, "film": {"format": "sheet"},
        "material": {"name": "stuff"}, "feet": {} if route == "print" else None,
    }  # fmt: skip
    named.update(preset or {})
    return Job(
        preset=Preset.model_validate(named),
        slug="a-holder",
        bed=bed(**over.get("bed", {})),
        film=film(**over.get("film", {})),
        base=base(**over.get("base", {})),
        material=material(route, **over.get("material", {})),
        printer=printer(**over.get("printer", {})) if route == "print" else None,
        paper=Paper(key="a4", name="A4", **ROW, width_mm=210.0, height_mm=297.0, printer_margin_mm=5.0),
    )


def window(at: Rect = FILM, lips: Edges = LIPS, **over: Any) -> Window:
    opening = at.inset(lips.left, lips.right, lips.head, lips.foot)
    picture = at.inset(3.0, 3.0, 3.0, 3.0)
    known = Window(opening, at, picture, at.grown(MARGIN), lips, "sheet", False, 1.0, Edges(0, 0, 0, 0))
    return replace(known, **over)


def outline(rect: Rect) -> Outline:
    return rectangle(rect.x, rect.y, rect.width, rect.height)


def shell() -> Outline:
    """The outside with the calibration zone's place bitten out of the home edge."""
    corners = [
        (0.5, 0.5),
        (38, 0.5),
        (38, 10),
        (172, 10),
        (172, 0.5),
        (215.5, 0.5),
        (215.5, 296.5),
        (0.5, 296.5),
    ]
    from holders.geometry.outline import Vertex

    return Outline(tuple(Vertex(x, y) for x, y in corners))


def frame(
    route: str, windows: tuple[Window, ...], z: tuple[float, float, float], recess: float = 1.0
) -> tuple[Part, ...]:
    """Underside, ledge and top at the heights ``z``; printed as one part, else one part a sheet."""
    under, ledge, top = z
    low = Slab("ledge", under, ledge, Region(shell(), tuple(outline(w.opening) for w in windows)))
    high = Slab("wall", ledge, top, Region(shell(), tuple(outline(w.pocket) for w in windows)))
    if route == "print":
        cuts = tuple(Cut("window chamfer", outline(w.opening), under, ledge - 0.8, 1.8) for w in windows)
        cuts += tuple(
            Cut("foot recess", circle(f.x, f.y, 3.15), under, under + recess, foot=True) for f in FEET
        )
        return (Part("frame", "frame", "print", "stuff", 1, (low, high), cuts),)
    return tuple(
        Part(f"sheet-{k}-{slab.name}", f"sheet {k}: {slab.name}", route, "stuff", 1, (slab,))  # type: ignore[arg-type]
        for k, slab in enumerate((low, high), 1)
    )


def lid(w: Window, z: tuple[float, float], gap: float = 0.3, route: str = "print") -> Part:
    body, hole = w.pocket.grown(-gap), w.opening.grown(0.3)
    slab = Slab("lid", *z, Region(outline(body), (outline(hole),)))
    return Part("lid", "lid frame", route, "stuff", 1, (slab,), role=Role.LID)  # type: ignore[arg-type]


def make(route: str = "print", windows: tuple[Window, ...] | None = None, **over: Any) -> Design:
    """A design that passes every check with :func:`job`; ``over`` replaces fields of the design."""
    chosen = (window(),) if windows is None else windows
    printed = route == "print"
    z = (0.5, 3.1, 5.1) if printed else (0.0, 3.0, 5.0)
    heights = Heights(
        foot_protrusion=z[0], ledge_height=z[1] - z[0], ledge_wanted=z[1] - z[0], optics=0.0,
        focus=3.1, focus_sigma=0.1, band_low=2.5, band_high=3.7, step=0.2 if printed else 0.0,
    )  # fmt: skip
    made = Design(
        slug="a-holder", title="a holder", route=route, outer=OUTER, glass=Rect(0, 0, 216, 297),  # type: ignore[arg-type]
        lamp=Rect(12, 25, 192, 250), calibration=Rect(40, 0, 130, 8), heights=heights, windows=chosen,
        parts=frame(route, chosen, z), feet=FEET if printed else (), foot_thickness=1.5 if printed else 0.0,
        foot_recess=1.0 if printed else 0.0, film_thickness=0.18, pocket_depth=2.0, clearance=0.3,
        slide_gap=0.5, total_height=z[2],
    )  # fmt: skip
    return replace(made, **over)


def with_heights(design: Design, **over: Any) -> Design:
    """The design with other heights; ``sharp_plane`` is reached by other optics."""
    made = replace(design.heights, **{k: v for k, v in over.items() if k != "sharp_plane"})
    if "sharp_plane" in over:
        made = replace(made, optics=made.optics + over["sharp_plane"] - made.sharp_plane)
    return replace(design, heights=made)


def with_lid(design: Design, gap: float = 0.3, play: float = 0.2) -> Design:
    ledge = design.heights.sharp_plane
    part = lid(design.windows[0], (ledge + 0.38, ledge + 2.0), gap, design.route)
    return replace(design, parts=(*design.parts, part), fitted=(*design.fitted, LidFrame(play)))
