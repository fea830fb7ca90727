"""``film``, ``check``, page and job sheet report one film, to the last digit, on every shipped preset."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holders.core.findings import Finding
from holders.face.cli.commands.filming import film_summary
from holders.face.page.work.answers import filmed
from holders.output.sheet.numbers import section
from holders.output.words.summary import design_summary
from holders.output.words.warmth import warm_summary
from holders.study import Study
from tests.kept import shipped_study
from tests.presets_made import SHIPPED


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_film_check_page_and_sheet_agree(path: Path) -> None:
    found = shipped_study(path)
    film = json.loads(json.dumps(film_summary(found)))
    check = json.loads(json.dumps(design_summary(found.design)))
    sag = check["sag"]
    assert (film["max_sag"], film["mean_sag"]) == (sag["max"], sag["mean"])
    assert (film["min_gap"], film["in_band_fraction"]) == (sag["min_gap"], sag["in_band_fraction"])
    worst = [
        f
        for f in found.findings
        if f.code == "sag" and f.subject == "share in focus of the worst sensible film"
    ]
    if worst and film["ranges"] is not None:  # a strip in its channel has no ranges but of its curl
        assert film["ranges"]["in_band_fraction"]["low"] == worst[0].measured
        assert worst[0].where.startswith(film["ranges"]["worst_case"])
    if film.get("lid"):
        mine = [f for f in found.findings if not found.job.kinds or f.title.startswith(found.job.film_called)]
        _lid(film["lid"], mine)
    sheet = str(section(found.job, found.design, found.film))
    assert f"{100 * film['in_band_fraction']:.1f}" in sheet
    page = filmed({"numbers": []}, found.job, found.design, found.film)
    rise = page["film"]["rise"]
    assert np.array(page["film"]["z"]) == pytest.approx(
        np.array(film["z"]) + rise, abs=1e-4
    )  # rounded to as much
    words = dict(page["numbers"])
    assert words["Picture in focus"] == f"{100 * film['in_band_fraction']:.1f} %"
    assert words["Film nearest to the glass"].startswith(f"{film['min_gap']:.2f} mm")
    _warm(found, film, words, sheet)


def _warm(found: Study, film: dict[str, Any], words: dict[str, str], sheet: str) -> None:
    """The warm film is one film too."""
    check = json.loads(json.dumps(warm_summary(found.job, found.design.sag)))
    if check is None:
        assert film["warmth"] is None
        return
    told = words["Film on the warm bed"]
    if check["warm"] is None:  # strips as curled as a spool: the solver finds no shape, and all say so
        assert film["warmth"] == check
        assert told.startswith("no shape was found")
        assert told in sheet
        return
    warm = {key: value for key, value in film["warmth"]["warm"].items() if key not in "xyz"}
    assert warm == check["warm"]
    assert {**film["warmth"], "warm": warm} == check
    sag = found.design.sag
    assert sag is not None
    assert sag.warm is not None
    assert sag.warm.shown is not None
    exact = sag.warm.shown.in_band_fraction  # rounded once, not first for JSON and then for people
    assert warm["in_band_fraction"] == round(exact, 4)
    share = f"{100 * exact:.1f} % in focus"
    assert share in told or told.startswith("as cold")
    # the sheet has less room for how high such film stands, and says it shorter
    assert re.sub(r", ([\d.]+ mm) high in the middle of its width", r" (middle \1 high)", told) in sheet


def _lid(lid: dict[str, float], findings: Sequence[Finding]) -> None:
    (finding,) = [f for f in findings if "to lie flat" in f.title]
    assert finding.measured == lid["held_n"]
    assert f"needs {lid['needed_n']:.2f} N" in finding.title
    assert (" rise " in finding.title) == (lid["rise_mm"] > 0)
