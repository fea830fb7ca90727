"""What stands beside the choices: what each way of making takes, and the film with other curls in the same holder."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from starlette.testclient import TestClient

from holders.face.page.form.values import preset_of
from holders.study import study
from holders.workshop.cost import print_costs
from tests.face.page.pages import PRINTED


def _routes(page: TestClient, values: dict[str, Any]) -> dict[str, str]:
    found: dict[str, str] = page.post("/api/routes", json=values).json()["routes"]
    return found


def _own(page: TestClient, values: dict[str, Any]) -> str:
    return str(page.post("/api/whole", json=values).json()["effort"])


def test_each_way_of_making_says_what_it_takes(page: TestClient) -> None:
    found = study(preset_of(PRINTED))
    costs = print_costs(found.job.material, found.job.printer, found.design)
    hours = sum(cost.hours * cost.quantity for cost in costs)
    grams = sum(cost.grams * cost.quantity for cost in costs)
    routes = _routes(page, PRINTED)
    assert _own(page, PRINTED) == f"{hours:.0f} h, {grams:.0f} g"  # the holder in the form, lid and all
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
        25.0 * 1.1 * grams / 1000, abs=0.02
    )  # a tenth more, for start and failures


def test_a_way_that_cannot_be_says_nothing(page: TestClient) -> None:
    wide = {**PRINTED, "film": {"format": "8x10"}, "bed": {"name": "no-such-bed"}}
    assert _routes(page, wide) == {"laser": "", "knife": ""}


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
