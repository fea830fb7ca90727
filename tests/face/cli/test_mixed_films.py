"""A holder for several kinds of film as commands, page and sheet show it: each window has its own numbers."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.design.resolve import design
from holders.face.cli.commands.filming import film_summary
from holders.face.cli.main import app
from holders.face.page.form.values import text_of, values_of
from holders.face.page.work.answers import filmed, numbers
from holders.face.shared.expected import expected_of, window_of_scan
from holders.output.sheet.content import sheet_content
from holders.output.words.summary import summary
from holders.preset.edited import with_values
from holders.preset.load import load, parse
from holders.preset.places import line_of
from holders.preset.resolve import resolve
from holders.search.candidates import candidates
from holders.study import Study, study
from holders.workshop.budget.as_made import AsMade, read
from holders.workshop.budget.framed import framed

TEXT = """\
holders_preset = 2
title = "mixed test"
route = "print"
[bed]
name = "a4-wide"
focus_height_mm = 3.1
focus_sigma_mm = 0.05
[film]
format = "4x5"
[material]
name = "petg"
[layout]
count = 1
[[more_films]]
format = "roll-6x9-single"
count = 2
emulsion = "up"
[more_films.base]
curl_low_per_m = 0.0
curl_per_m = 1.5
curl_high_per_m = 4.0
[[more_films]]
format = "plate-quarter"
"""


@cache
def found() -> Study:
    """The study, made once."""
    return study(parse(TEXT, "mixed.toml"), TEXT)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "mixed.toml"
    path.write_text(TEXT)
    return path


def test_the_headline_is_that_of_the_worst_film() -> None:
    verdict = found().verdict
    worst = min(verdict.films, key=lambda one: one.chance)
    assert len(verdict.films) == 3
    assert verdict.chance == worst.chance
    assert f"of the {worst.film} (" in verdict.text
    assert found().job.film_called == worst.film
    sharp = [f for f in found().findings if f.code == "sharpness"]
    assert len(sharp) == 3
    assert min(f.measured for f in sharp) == pytest.approx(100 * verdict.chance, abs=1e-3)


def test_each_window_has_its_own_heights_and_the_top_ones_are_the_worst() -> None:
    told = json.loads(json.dumps(summary(found(), "mixed.toml")))["design"]
    assert [w["film"] for w in told["windows"]] == ["4x5", *["roll-6x9-single"] * 2, "plate-quarter"]
    for number, window in enumerate(told["windows"], 1):
        one, _ = found().at_window(number)
        assert window["ledge_height"] == one.design.heights.ledge_height
        assert window["sharp_plane_height"] == pytest.approx(one.design.heights.sharp_plane, abs=1e-4)
        assert window["sag"]["max"] == pytest.approx(one.film.sag.max_mm, abs=1e-4)
    worst = told["windows"][found().design.numbered[0][0] - 1]
    assert told["sag"] == worst["sag"]
    assert told["ledge_height"] == worst["ledge_height"]
    assert len({window["ledge_height"] for window in told["windows"]}) > 1


def test_the_frame_is_looked_at_under_each_films_own_windows() -> None:
    for one in found().design.each:
        under = framed(found().job.of(one.kind), one, 6)
        assert under is not None
        assert len(under.cold) == len(under.warm) == len(one.mine)
    (worst,) = {f.where.partition("(window ")[2].partition(")")[0] for f in found().findings
                if f.code == "sharpness" and f.title.startswith("6x9")}  # fmt: skip
    assert int(worst) in (2, 3)


def test_rules_about_the_film_speak_of_each_and_others_once() -> None:
    findings = found().findings
    rests = [f for f in findings if f.subject.startswith("smallest film")]
    assert len(rests) == 3
    assert len({f.title.partition(":")[0] for f in rests}) == 3
    assert sum(f.code == "glass-fit" for f in findings) == sum(f.code == "glass-fit" for f in study_of_one())
    names = " ".join(found().cautions)
    assert "Glass plates" in names
    assert "nitrate" in names


def study_of_one() -> tuple[object, ...]:
    """The findings of the same holder for its first film alone."""
    text = TEXT[: TEXT.index("[[more_films]]")]
    return study(parse(text, "one.toml"), text, extremes=False).findings


def test_film_shows_the_window_that_is_asked_for(file: Path, tmp_path: Path) -> None:
    answers = []
    for number in (1, 2, 4):
        done = CliRunner().invoke(app, ["film", str(file), "--window", str(number), "--json"])
        assert done.exit_code == 0, done.stderr
        answers.append(json.loads(done.stdout))
    assert len({round(answer["x"][-1], 3) for answer in answers}) == 3
    worst = json.loads(CliRunner().invoke(app, ["film", str(file), "--json"]).stdout)
    assert worst["max_sag"] == film_summary(found())["max_sag"]
    refused = CliRunner().invoke(app, ["film", str(file), "--window", "5"])
    assert refused.exit_code == 2
    assert "windows 1 to 4" in refused.stderr


def scan_of(path: Path, width_mm: float, height_mm: float, ppi: float = 300.0) -> Path:
    """An even scan of a size."""
    shape = round(height_mm / 25.4 * ppi), round(width_mm / 25.4 * ppi)
    tifffile.imwrite(path, np.full(shape, 40000, np.uint16), resolution=(ppi, ppi), resolutionunit=2)
    return path


def test_a_scan_is_taken_for_the_window_of_its_size(tmp_path: Path) -> None:
    for number, window in enumerate(found().design.windows, 1):
        o = window.opening
        scan = scan_of(tmp_path / f"{number}.tif", o.width + 1.0, o.height + 1.0)
        told = window_of_scan(found(), scan, None)
        assert told == {3: 2}.get(number, number)  # two windows alike: the first of them
        assert expected_of(found(), told).window_mm == (o.width, o.height)
    assert window_of_scan(study(parse(TEXT[: TEXT.index("[[more")], "one")), scan, None) is None


def test_a_finished_holder_is_judged_by_the_ledge_of_the_worst_film() -> None:
    high = found().design.heights.ledge_above_glass
    as_meant = AsMade(found().job, found().design, read(found().design, [high] * 4)).chance()
    low = AsMade(found().job, found().design, read(found().design, [high - 0.6] * 4)).chance()
    assert low < as_meant
    assert as_meant >= found().verdict.chance - 0.05  # known heights leave less doubt than drawn ones


def test_page_and_sheet_have_every_film() -> None:
    answer = filmed({"numbers": numbers(found().design)}, found().job, found().design, found().film)
    assert len(answer["films"]) == 3
    assert answer["films"][0]["film"]["z"] == answer["film"]["z"]
    assert len({len(one["film"]["x"]) * one["film"]["x"][-1] for one in answer["films"]}) == 3
    words = repr(sheet_content(found(), TEXT))
    for name in ("1, 4x5", "2, roll-6x9-single", "4, plate-quarter", "into pockets 2, 3"):
        assert name in words
    assert "Flip the scan" in words
    assert "Do not flip the scan" in words


def test_the_form_keeps_the_list(tmp_path: Path) -> None:
    values = values_of(TEXT, "mixed.toml")
    assert len(values["more_films"]) == 2
    text, preset = text_of(values)
    assert preset.model_dump(exclude={"holders_preset"}) == parse(TEXT, "mixed.toml").model_dump(
        exclude={"holders_preset"}
    )  # which the form keeps as of today
    assert values_of(text, "again") == values


def test_keys_in_the_list_are_found_and_changed() -> None:
    assert TEXT.splitlines()[line_of(TEXT, ["more_films", 1, "format"]) - 1] == 'format = "plate-quarter"'
    assert (
        TEXT.splitlines()[line_of(TEXT, ["more_films", "0", "base", "curl_per_m"]) - 1] == "curl_per_m = 1.5"
    )
    new = parse(
        with_values(TEXT, {"more_films.1.emulsion": "up", "more_films.0.base.curl_per_m": 2.0}), "new"
    )
    assert (new.more_films[1].emulsion, new.more_films[0].base.curl_per_m) == ("up", 2.0)
    assert (
        parse(with_values(TEXT, {"more_films.1.base.poisson": 0.2}), "new").more_films[1].base.poisson == 0.2
    )
    with pytest.raises(InputError):
        with_values(TEXT, {"more_films.7.count": 2})


def test_next_steps_change_the_film_that_does_worst() -> None:
    looked = found().of(1)
    keys = {key for change in candidates(looked) for key in change.keys if "curl" in key or "emulsion" in key}
    assert keys
    assert all(key.startswith("more_films.0.") for key in keys)


def test_further_films_come_into_the_same_holder(tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    words = [
        "new",
        "--plain",
        "--format",
        "4x5",
        "--count",
        "2",
        "--also",
        "roll-6x9-single:2",
        "--lid",
        str(path),
    ]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.stderr
    found = load(path)
    assert (found.film.format, found.layout.count) == ("4x5", 2)
    assert [(more.format, more.count) for more in found.more_films] == [("roll-6x9-single", 2)]
    made = design(resolve(found))
    assert [window.film_key for window in made.windows].count("roll-6x9-single") == 2
    assert len(made.windows) == 4


@pytest.mark.parametrize(
    "word", ["roll-6x9-single:", "roll-6x9-single:0", "roll-6x9-single:two", "no-such-film:1"]
)
def test_a_further_film_that_is_none_is_refused(word: str, tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    done = CliRunner().invoke(app, ["new", "--plain", "--also", word, str(path)])
    assert done.exit_code == 2
    assert "--also" in done.stderr
    assert not path.exists()
