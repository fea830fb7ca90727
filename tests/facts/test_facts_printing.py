"""How the workshop's printer fills a part, and what a row that says nothing stands for."""

from __future__ import annotations

import pytest

from holders.facts.habits import habit
from holders.facts.models import Material, Printer
from holders.facts.printing import PrintSettings, usual_settings
from holders.facts.tables import find


def test_the_words_are_the_numbers() -> None:
    settings = PrintSettings(1.2, 0.8, 0.15, 0.2, 0.45, 30.0, 18.0, 100.0, 4.0, 300.0)
    assert settings.words == "walls 1.20 mm and skins 0.8 mm solid, 15 % fill inside"


def test_settings_follow_the_nozzle_and_the_layer() -> None:
    printer = find("printers", "p220", Printer, field="printer.name")
    settings = usual_settings(printer)
    assert settings.wall_mm == pytest.approx(
        habit("print-perimeters") * habit("print-line-share") * printer.nozzle_mm
    )
    assert settings.layer_mm == printer.layer_mm
    assert settings.start_s == pytest.approx(60 * habit("print-start-minutes"))
    wide = usual_settings(printer.model_copy(update={"nozzle_mm": 0.8}))
    assert wide.wall_mm == pytest.approx(2 * settings.wall_mm)


def test_a_material_that_says_nothing_of_moisture_does_not_move_with_it() -> None:
    row = find("materials", "petg", Material, field="material.name").model_dump()
    bare = {key: value for key, value in row.items() if not key.endswith("_per_rh")}
    made = Material.model_construct(**bare)
    assert (made.moisture_strain_per_rh, made.thickness_swelling_per_rh) == (0.0, 0.0)
