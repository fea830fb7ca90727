"""What stands beside the choices: what each way of making takes, and the film with other curls in the same holder."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from starlette.testclient import TestClient
from typer.testing import CliRunner

from holders.face.cli.main import app
from holders.face.page.form.values import preset_of, values_of
from holders.face.page.work import answers
from holders.face.page.work.afresh import begun_afresh
from holders.face.page.work.routes import effort_words
from holders.study import study
from holders.workshop.cost import print_costs, print_hours, printed_rows
from tests.face.page.pages import PRINTED
from tests.kept import shipped_study
from tests.presets_made import SHIPPED, SHIPPED_QUICK


def _routes(page: TestClient, values: dict[str, Any]) -> dict[str, str]:
    found: dict[str, str] = page.post("/api/routes", json={"values": values, "by_hand": []}).json()["routes"]
    return found


def _own(page: TestClient, values: dict[str, Any]) -> str:
    return str(page.post("/api/whole", json=values).json()["effort"])


def test_each_way_of_making_says_what_it_takes(page: TestClient) -> None:
    found = study(preset_of(PRINTED))
    costs = print_costs(found.job.material, found.job.printer, found.design)
    assert found.job.printer is not None
    hours = print_hours(found.job.printer, found.design, costs)
    (bought,) = printed_rows(found.job.material, found.job.printer, found.design, costs)
    routes = _routes(page, PRINTED)
    assert (
        _own(page, PRINTED) == f"{hours:.1f} h, {bought.quantity:g} g"
    )  # the holder in the form, lid and all
    for other in ("laser", "knife"):
        sheets, minutes = routes[other].split(", ")
        assert sheets in ("1 sheet", "2 sheets")  # a base and a frame, of one thickness or two
        assert 0 < float(minutes.removesuffix(" min")) < 90


def test_a_price_stands_there_once_it_is_known(page: TestClient) -> None:
    priced = copy.deepcopy(PRINTED)
    priced["material"]["price_per_kg"] = 25.0
    grams = float(_own(page, PRINTED).split(", ")[1].removesuffix(" g"))
    cost = _own(page, priced).split("cost ")[1]
    assert float(cost) == pytest.approx(
        25.0 * grams / 1000, abs=0.02
    )  # the grams have a tenth more, for start and failures


def test_a_way_that_cannot_be_says_nothing(page: TestClient) -> None:
    wide = {**PRINTED, "film": {"format": "8x10"}, "bed": {"name": "no-such-bed"}}
    assert _routes(page, wide) == {"laser": "", "knife": ""}


def test_another_way_s_card_is_foreseen_as_pressing_it_will_have_it(monkeypatch: pytest.MonkeyPatch) -> None:
    path = next(path for path in SHIPPED if path.stem == "8x10-mat-board")
    proposed = values_of(path.read_text(encoding="utf-8"), path.stem)
    asked: list[dict[str, Any]] = []

    def propose(given: dict[str, Any]) -> dict[str, Any]:
        asked.append(given)
        return {"ok": True, "values": proposed, "words": "Cut by knife"}

    monkeypatch.setattr(answers, "propose", propose)
    found = answers.ahead({"values": PRINTED, "route": "knife", "by_hand": ["lip.all_mm"]})
    begun, left = begun_afresh({**PRINTED, "route": "knife"}, ["lip.all_mm"])
    assert asked == [{"values": begun, "by_hand": ["lip.all_mm"]}]
    assert (found["begun"], found["left"], found["values"]) == (begun, left, proposed)
    there = shipped_study(path)
    assert found["effort"] == effort_words(there.job, there.design, there.nested)
    wrong = answers.ahead({"values": PRINTED, "route": "ferry", "by_hand": []})
    assert wrong["errors"][0]["field"] == "route"


def test_other_curls_lie_in_the_holder_as_it_is_built(page: TestClient) -> None:
    answer = page.post("/api/whole", json=PRINTED).json()
    curled, relief = answer["curled"], answer["film"]
    assert [one["curl"] for one in curled] == sorted(one["curl"] for one in curled)
    assert [one["below"] for one in curled] == sorted(one["below"] for one in curled)
    low, high = relief["band"]
    for one in curled:
        z = np.array(one["z"])
        assert one["share"] == pytest.approx(((z >= low) & (z <= high)).mean(), abs=0.01)
    # the same holder: between the curls beside the usual one the film lies where the relief shows the usual film
    k = int(np.searchsorted([one["curl"] for one in curled], answer["usual_curl"]))
    below, above = curled[k - 1], curled[k]
    part = (answer["usual_curl"] - below["curl"]) / (above["curl"] - below["curl"])
    between = (1 - part) * np.array(below["z"]) + part * np.array(above["z"])
    shown = RegularGridInterpolator((relief["y"], relief["x"]), np.array(relief["z"]))
    y, x = np.meshgrid(below["y"], below["x"], indexing="ij")
    assert np.abs(shown((y, x)) - between).max() < 0.03


def _rerouted(page: TestClient, values: dict[str, Any], *by_hand: str) -> dict[str, Any]:
    asked = {"values": values, "by_hand": list(by_hand)}
    found: dict[str, Any] = page.post("/api/reroute", json=asked).json()
    return found


@pytest.mark.parametrize("path", SHIPPED_QUICK)
def test_a_holder_is_made_another_way_at_one_press(page: TestClient, path: Path) -> None:
    values = values_of(path.read_text(encoding="utf-8"), path.stem)
    for route in {"print", "laser", "knife"} - {values["route"]}:
        answer = _rerouted(page, {**values, "route": route})
        assert answer["ok"]
        assert answer["values"]["route"] == route
        for kept in ("film", "bed"):
            assert answer["values"][kept] == values[kept]
        drawn = page.post("/api/sketch", json={"title": "weir", **answer["values"]}).json()
        assert drawn["ok"], (route, drawn)
        before = page.post("/api/sketch", json={**values, "route": route}).json()
        if not before["ok"]:  # what had to change is said
            changed = {key for key in values if answer["values"].get(key) != values[key]}
            assert changed - {"route", "title", "note", "material", "printer"} or not answer["words"]


def test_what_cannot_be_made_another_way_says_why(page: TestClient) -> None:
    path = next(path for path in SHIPPED if path.stem == "8x10-wet-mount")
    values = values_of(path.read_text(encoding="utf-8"), path.stem)
    answer = _rerouted(page, {**values, "route": "laser"})
    drawn = page.post("/api/sketch", json={"title": "weir", **answer["values"]}).json()
    assert [error["field"] for error in drawn["errors"]] == [
        "film.format"
    ]  # not its material: that was changed
    assert _rerouted(page, {"route": "by ferry"}) == {
        "ok": True,
        "values": {"route": "by ferry"},
        "words": "",
    }


def test_another_way_keeps_what_was_set_by_hand(page: TestClient) -> None:
    path = next(path for path in SHIPPED if path.stem == "5x7-printed")
    values = values_of(path.read_text(encoding="utf-8"), path.stem)
    values["lid"]["lip_mm"] = 1.75
    answer = _rerouted(page, {**values, "route": "laser"}, "lid.lip_mm")
    assert answer["values"]["lid"]["lip_mm"] == 1.75
    assert _rerouted(page, {**values, "route": "laser"})["values"]["lid"].get("lip_mm") != 1.75


def test_another_card_begins_afresh_as_a_new_preset_does(page: TestClient, tmp_path: Path) -> None:
    path = next(path for path in SHIPPED if path.stem == "8x10-printed")
    values = values_of(path.read_text(encoding="utf-8"), path.stem)
    values = {**values, "route": "laser", "film": {**values["film"], "format": "4x5"}}
    answer = page.post("/api/afresh", json={"values": values, "by_hand": []}).json()
    wished = ["--format", "4x5", "--bed", "a4-wide", "--route", "laser", "--plain"]
    written = CliRunner().invoke(app, ["new", *wished, str(tmp_path / "weir.toml")])
    assert written.exit_code == 0, written.output
    new = values_of((tmp_path / "weir.toml").read_text(encoding="utf-8"), "weir")
    assert answer["values"] == {key: value for key, value in new.items() if key != "title"}  # no lid, no feet


def test_begun_afresh_keeps_what_was_set_by_hand(page: TestClient) -> None:
    values = {**PRINTED, "lid": {"thickness_mm": 6.0}, "layout": {"count": 2}}
    by_hand = ["bed.focus_height_mm", "lip.all_mm", "lid", "printer.name", "material.price_per_kg"]
    asked = {"values": {**values, "route": "laser"}, "by_hand": by_hand}
    answer = page.post("/api/afresh", json=asked).json()
    made = answer["values"]
    assert made["bed"] == PRINTED["bed"]
    assert made["lip"] == {"all_mm": 2.5}
    assert made["lid"] == {"thickness_mm": 6.0}
    assert made["layout"] == {"count": 1}  # nobody set it
    assert "printer" not in made
    assert made["material"] == {"name": "acrylic-cast"}  # a price for a kilogram of another material
    assert page.post("/api/sketch", json={"title": "weir", **made}).json()["ok"]
    wrong = page.post("/api/afresh", json={"values": {**values, "route": "ferry"}, "by_hand": []}).json()
    assert wrong["errors"][0]["field"] == "route"
    assert "print, laser, knife" in wrong["errors"][0]["way_out"]
    for bad in ({"by_hand": []}, {"values": values, "by_hand": [3]}):
        assert not page.post("/api/afresh", json=bad).json()["ok"]
