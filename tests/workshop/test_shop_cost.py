"""Plastic, hours, sheets and the shopping list."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.design.model import Cut, Part, Slab
from holders.design.parts.filled import CHORD_MM, inside_volume
from holders.design.parts.sections import breaks, section
from holders.design.parts.volume import part_volume
from holders.design.pieces.pose import print_pose
from holders.design.resolve import design
from holders.facts.models import Printer
from holders.facts.printing import PrintSettings, usual_settings
from holders.facts.tables import printer
from holders.fittings.lid.table import Lid
from holders.geometry.outline import Region, rectangle
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset
from holders.workshop.cost import (
    Row,
    filament_g,
    print_cost,
    print_costs,
    printed_rows,
    sheet_rows,
    small_rows,
    total_price,
)
from holders.workshop.nest.nest_job import nest_job
from tests.presets_made import SHIPPED, job
from tests.workshop.nest_cases import preset

SETTINGS = PrintSettings(
    wall_mm=1.0,
    skin_mm=0.8,
    infill=0.25,
    layer_mm=0.2,
    line_mm=0.5,
    walls_mm_s=20.0,
    skins_mm_s=10.0,
    inside_mm_s=40.0,
    layer_s=3.0,
    start_s=60.0,
)


def block(w: float, h: float, t: float, cuts: tuple[Cut, ...] = ()) -> Part:
    return Part("b", "b", "print", "petg", 1, (Slab("s", 0.0, t, Region(rectangle(0, 0, w, h))),), cuts)


def test_a_block_by_hand() -> None:
    # 20 x 10 x 5: inside are 18 x 8 x 3.4 = 489.6 mm³ at a quarter; 1000 - 489.6 * 0.75 = 632.8 mm³ laid
    found = print_cost(block(20, 10, 5), 1270.0, SETTINGS)
    assert found.volume_mm3 == pytest.approx(1000)
    assert found.inside_mm3 == pytest.approx(489.6, rel=1e-6)
    assert found.laid_mm3 == pytest.approx(632.8, rel=1e-6)
    assert found.grams == pytest.approx(632.8 * 1.27e-3, rel=1e-6)
    # walls 200 - 18 x 8 = 56 mm² x 5; the rest of what is not inside is skin. A line takes 0.5 x 0.2 = 0.1 mm³ a mm
    walls, skins, inside = 280.0, 1000 - 280 - 489.6, 489.6 / 4
    seconds = (walls / 20 + skins / 10 + inside / 40) / 0.1 + 25 * 3
    assert found.hours == pytest.approx(seconds / 3600, rel=1e-6)


def test_thin_plates_are_solid() -> None:
    assert inside_volume(block(20, 10, 1.6), SETTINGS) == 0
    assert inside_volume(block(20, 2.0, 5), SETTINGS) == 0


def test_a_step_gets_a_skin_of_its_own() -> None:
    # 20 x 10 x 5, its right half milled to 2.5. Deep over the whole 18 x 8 from 0.8 to 1.7 (0.8 under the floor); above
    # that only left of x = 10, less its wall: x = 1..9, y = 1..9, up to 4.2
    milled = block(20, 10, 5, (Cut("half", rectangle(10, -1, 11, 12), 2.5, 5.0),))
    want = 18 * 8 * 0.9 + 8 * 8 * 2.5
    assert inside_volume(milled, SETTINGS) == pytest.approx(want, rel=0.01)


def test_many_steps_with_a_chamfer_are_as_every_height_taken_alone() -> None:
    """A stair of 12 steps and a chamfer: what the skins share, against shapely's own intersection of all sections."""
    steps = tuple(Cut(f"step-{k}", rectangle(18 - k, -1, 9, 12), 1.0 + 0.3 * k, 9.0) for k in range(12))
    stair = block(20, 10, 6, (*steps, Cut("chamfer", rectangle(1, 3, 3, 3), 0.0, 2.0, 0.8)))
    at, skin, total = breaks(stair), SETTINGS.skin_mm, 0.0
    heights = sorted({z for b in at for z in (b, b - skin, b + skin) if at[0] <= z <= at[-1]})
    for low, high in pairwise(heights):
        z = (low + high) / 2
        if high - low > 1e-9 and z - skin >= at[0] and z + skin <= at[-1]:
            through = [z - skin, z, z + skin]
            through += [(a + b) / 2 for a, b in pairwise(at) if z - skin < b and a < z + skin]
            shared = shapely.intersection_all([section(stair, other, CHORD_MM) for other in through])
            total += (high - low) * shared.buffer(-SETTINGS.wall_mm, quad_segs=4).area
    assert total > 100
    assert inside_volume(stair, SETTINGS) == pytest.approx(total, rel=1e-9)


def test_infill_bounds_it() -> None:
    hollow = replace(SETTINGS, infill=0.0)
    solid = replace(SETTINGS, infill=1.0)
    part = block(20, 10, 5)
    assert print_cost(part, 1270, solid).laid_mm3 == pytest.approx(1000)
    assert print_cost(part, 1270, hollow).laid_mm3 == pytest.approx(1000 - 489.6)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.floats(3, 60), st.floats(3, 60), st.floats(0.4, 12), st.floats(0.4, 3), st.floats(0.2, 2))
def test_a_block_in_closed_form(w: float, h: float, t: float, wall: float, skin: float) -> None:
    chosen = replace(SETTINGS, wall_mm=wall, skin_mm=skin)
    want = max(0.0, w - 2 * wall) * max(0.0, h - 2 * wall) * max(0.0, t - 2 * skin)
    assert inside_volume(block(w, h, t), chosen) == pytest.approx(want, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: Path(p).stem)
def test_shipped_holders_cost_something(path: Path) -> None:
    made = resolve(load(path))
    holder = design(made)
    costs = print_costs(made.material, made.printer, holder)
    assert bool(costs) == (made.printer is not None)
    for part, cost in zip(holder.parts, costs, strict=False):
        assert 0 < cost.laid_mm3 <= cost.volume_mm3 == pytest.approx(part_volume(part))
        assert cost.hours > 0
        assert cost.quantity == part.quantity


def slicer(folder: Path, part: Part, machine: Printer, density_kg_m3: float) -> tuple[float, float]:
    """Grams and hours that a slicer says with the same settings (lines, 3 outlines, 4 + 4 skins of 0.2 mm, 25 %)."""
    from holders.output.formats.stl import stl_bytes
    from holders.solid.build import build
    from holders.solid.mesh import mesh

    model, code = folder / f"{part.name}.stl", folder / f"{part.name}.gcode"
    pose = print_pose(part)
    model.write_bytes(stl_bytes(mesh(build(part)).posed(pose.turned, (pose.dx, pose.dy, pose.dz))))
    x, y, skins = machine.build_x_mm, machine.build_y_mm, f"{round(0.8 / machine.layer_mm)}"
    subprocess.run(
        ["prusa-slicer", "--export-gcode", f"--bed-shape=0x0,{x:g}x0,{x:g}x{y:g},0x{y:g}", "--perimeters", "3",
         "--fill-density", "25%", "--top-solid-layers", skins, "--bottom-solid-layers", skins,
         f"--layer-height={machine.layer_mm:g}", f"--first-layer-height={machine.first_layer_mm:g}",
         f"--nozzle-diameter={machine.nozzle_mm:g}", f"--filament-density={density_kg_m3 / 1000:g}",
         f"--extrusion-width={1.125 * machine.nozzle_mm:g}", "--skirts", "0", "--solid-infill-below-area", "0",
         "-o", str(code), str(model)],
        check=True, capture_output=True, timeout=600,
    )  # fmt: skip
    text = code.read_text()
    grams = re.search(r"filament used \[g\] = ([\d.]+)", text)
    time = re.search(r"printing time \(normal mode\) = (?:(\d+)d )?(?:(\d+)h )?(?:(\d+)m )?(\d+)s", text)
    assert grams is not None
    assert time is not None
    days, hours, minutes, seconds = (float(x or 0) for x in time.groups())
    return float(grams[1]), 24 * days + hours + minutes / 60 + seconds / 3600


def against_the_slicer(path: Path, folder: Path) -> None:
    """Grams and hours of the whole holder; the slicer says nothing of heating up, so hours are without the start."""
    made = resolve(load(path))
    holder = design(made)
    assert made.printer is not None
    costs = print_costs(made.material, made.printer, holder)
    theirs = [slicer(folder, part, made.printer, made.material.density_kg_m3) for part in holder.parts]
    grams, hours = (
        sum(found[k] * part.quantity for found, part in zip(theirs, holder.parts, strict=True))
        for k in (0, 1)
    )
    assert sum(c.grams * c.quantity for c in costs) == pytest.approx(grams, rel=0.15)
    assert sum(c.hours * c.quantity for c in costs) == pytest.approx(hours, rel=0.15)


outside = pytest.mark.outside
slicing = pytest.mark.skipif(shutil.which("prusa-slicer") is None, reason="needs a slicer from Debian")


@outside
@slicing
def test_grams_and_hours_against_a_slicer(tmp_path: Path) -> None:
    against_the_slicer(next(p for p in SHIPPED if p.stem == "8x10-wet-mount"), tmp_path)


@outside
@slicing
@pytest.mark.slow
@pytest.mark.parametrize("path", [p for p in SHIPPED if load(p).route == "print"], ids=lambda p: p.stem)
def test_grams_and_hours_of_every_printed_preset_against_a_slicer(path: Path, tmp_path: Path) -> None:
    against_the_slicer(path, tmp_path)


# --- the list to shop by ---------------------------------------------------------------------------------------------


def _priced(made: Job, **prices: object) -> Preset:
    material = made.preset.material.model_copy(update=prices)
    return made.preset.model_copy(update={"material": material})


def test_printed_rows() -> None:
    made = job(film={"format": "8x10"}, feet={"count": 4, "thickness_mm": 1.5, "recess_mm": 1.0})
    holder = design(made)
    costs = print_costs(made.material, made.printer, holder)
    assert printed_rows(made.material, made.printer, holder, costs)[0].price is None
    (row,) = printed_rows(made.material, made.printer, holder, costs, 20.0)
    assert row.quantity == round(1.1 * sum(c.grams for c in costs))
    assert row.price == pytest.approx(0.02 * 1.1 * sum(c.grams for c in costs))
    assert "h of printing" in row.note
    assert row.what == "PETG filament"
    assert row.quantity == round(filament_g(costs))
    (black,) = printed_rows(made.material, made.printer, holder, costs, finish="matt-black")
    assert black.what == "black PETG filament"
    (feet,) = small_rows(made, holder)
    assert feet.quantity == 4
    assert "8 x 30 mm, 1.5 mm thick" in feet.what
    round_ones = job(film={"format": "8x10"}, feet={"count": 4, "form": "round"})
    assert "8 mm wide, 1.5 mm thick" in small_rows(round_ones, design(round_ones))[0].what
    assert printed_rows(made.material, made.printer, holder, ()) == ()


def test_magnets_are_counted_in_frame_and_lid() -> None:
    made = resolve(preset("5x7-printed"))
    holder = design(made)
    pits = sum(c.magnet is not None for p in holder.parts for c in p.cuts)
    row = next(r for r in small_rows(made, holder) if "magnets" in r.what)
    assert row.quantity == pits == 2 * 4  # four in the lid, four in the frame below
    assert "pacemakers" in row.note


def test_a_weight_that_presses_on_the_lid_is_on_the_list_and_in_the_steps() -> None:
    """2.5 N are 2.5 / 9.80665 kg (ISO 80000-3): 255 g."""
    made = resolve(preset("6x9-roll").model_copy(update={"bars": None, "lid": Lid(extra_weight_n=2.5)}))
    holder = design(made)
    row = next(r for r in small_rows(made, holder) if "weight" in r.what)
    assert row.what.startswith("weight of 255 g")
    assert row.quantity == len(holder.windows)
    steps = " ".join(step for fitted in holder.fitted for step in fitted.loading("film"))
    assert "lay 255 g along its rails" in steps
    assert "do not press" not in steps
    assert steps.index("255 g") < steps.index("take the weight off")
    plain = design(resolve(preset("5x7-printed")))
    assert not [r for r in small_rows(made, plain) if "weight" in r.what]
    assert "weight" not in " ".join(step for fitted in plain.fitted for step in fitted.loading("film"))


def test_sheet_rows() -> None:
    made = resolve(preset("8x10-acrylic-lid"))
    holder = design(made)
    nested = nest_job(made, holder)
    assert made.preset.material.sheets_mm == (1.45, 2.05, 2.9)
    priced = replace(made, preset=_priced(made, sheet_prices=(7.0, 9.0, 12.0)))
    prices = {1.45: 7.0, 2.05: 9.0, 2.9: 12.0}
    rows = sheet_rows(priced.material, priced.preset, [n.nesting for n in nested], [n.cuts for n in nested])
    assert len(rows) == len(nested)
    assert all(
        r.price is None
        for r in sheet_rows(made.material, made.preset, [n.nesting for n in nested], [n.cuts for n in nested])
    )
    for row, n in zip(rows, nested, strict=True):
        assert f"{n.thickness_mm:g} mm" in row.what
        assert row.quantity == len(n.nesting.sheets)
        assert row.unit == ("sheet" if row.quantity == 1 else "sheets")
        assert row.price == prices[n.thickness_mm] * row.quantity
        assert f"{n.nesting.used_mm2 / 1e6:.3f} m²" in row.note
    glue = next(r for r in small_rows(made, holder) if "cement" in r.what)
    assert glue.quantity == 1


def test_total() -> None:
    rows = (Row("a", 1, "x", price=2.0), Row("b", 1, "x"), Row("c", 1, "x", price=3.5))
    assert total_price(rows) == 5.5
    assert total_price(rows[1:2]) is None


def test_usual_settings_follow_the_printer() -> None:
    chosen = usual_settings(printer("p220"))
    assert chosen.wall_mm == pytest.approx(3 * 0.45)  # three lines of 0.45 mm from a 0.4 mm nozzle
    assert chosen.layer_mm == 0.2
