"""``holders inspect`` on the command line: before and after, the corrected copy of the preset, and what is refused."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner, Result

from holders.face.cli.main import app
from holders.face.shared.expected import expected_of
from holders.measure.finished.look import inspect_scan
from holders.measure.finished.rings.rings import RingsResult
from holders.output.draw.inspect import inspect_sheet
from holders.preset.load import load
from holders.study import study_file
from tests.kept import shipped_study
from tests.measure.finished.scans import scan_of, textured_film, window_scan, write

ROOT = Path(__file__).parents[3]
PRESET = ROOT / "presets" / "8x10-mat-board.toml"
DPI = 100.0
PX = 25.4 / DPI


def call(*args: str | Path) -> Result:
    return CliRunner().invoke(app, ["inspect", *(str(a) for a in args)])


def told(*args: str | Path) -> dict[str, object]:
    done = call(*args, "--json")
    assert done.exit_code == 0, done.stderr
    return dict(json.loads(done.stdout))


def scan_of_preset(path: Path, offset_mm: float, number: int = 3) -> Path:
    """A scan of the preset's film, lying ``offset_mm`` higher than predicted."""
    return scan_of(path, expected_of(shipped_study(PRESET)), offset_mm, DPI, number)


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures go to ``out`` in a folder of the test's own."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def no_rings(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search for rings, which these tests are not about, takes most of the time."""
    none = RingsResult(False, 0.0, "grey", ())
    monkeypatch.setattr("holders.measure.finished.look.find_rings", lambda *_args, **_more: none)


@pytest.fixture(scope="module")
def too_high(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return scan_of_preset(tmp_path_factory.mktemp("high") / "too-high.tif", 0.5)


def small_scan(path: Path, *, soft: float, shift: int = 0, number: int = 5) -> Path:
    rng = np.random.default_rng(number)
    film = np.roll(textured_film(rng, (420, 380), rms=0.05), shift, axis=1)
    light = window_scan((420, 380), (40 + shift, 40), (300, 340), 0.2, film, soft_px=soft)
    return write(path, light + rng.normal(0, 0.001, light.shape), DPI)


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("pair")
    return small_scan(folder / "before.tif", soft=1.8), small_scan(folder / "after.tif", soft=0.8, shift=4)


# -- before and after


def test_before_and_after_in_json(pair: tuple[Path, Path]) -> None:
    before, after = pair
    found = told(after, "--before", before)
    assert {"rings", "sharpness", "skew_deg", "film_edges"} <= set(found)
    assert found["scan"] == str(after)
    earlier, both = found["before"], found["comparison"]
    assert isinstance(earlier, dict)
    assert isinstance(both, dict)
    assert earlier["scan"] == str(before)
    assert {"found", "score", "where"} <= set(earlier["rings"])
    assert both["rings"] == "cannot tell"  # one channel
    assert both["mean_gain"] > 0.3
    assert both["sharper_fraction"] > 0.9
    assert both["shift"][0] == pytest.approx(4 * PX, abs=0.1)
    assert both["shift"][1] == pytest.approx(0.0, abs=0.1)
    assert both["compared_fraction"] > 0.9
    assert both["blurred_before"] > 0.9
    assert both["blurred_after"] == 0.0


def test_before_and_after_in_words(pair: tuple[Path, Path]) -> None:
    before, after = pair
    done = call(before, "--before", after)  # the other way round: it has become softer and moved back
    assert done.exit_code == 0, done.stderr
    assert re.search(r"finest detail +-", done.stdout)
    assert "% clearly softer" in done.stdout
    assert re.search(r"moved by +-1.0", done.stdout)  # four pixels
    assert "after.tif" in done.stdout
    assert "cannot be judged" in done.stdout  # one channel only


def test_scans_that_cannot_be_compared(pair: tuple[Path, Path], tmp_path: Path) -> None:
    _, after = pair
    other = small_scan(tmp_path / "other.tif", soft=0.8, number=6)
    link = tmp_path / "same.tif"
    link.symlink_to(after)
    for wrong, words in (
        (other, "same film"),
        (after, "two different scans"),
        (link, "two different scans"),
        (tmp_path / "missing.tif", "missing.tif"),
    ):
        done = call(after, "--before", wrong)
        assert done.exit_code == 2
        assert words in done.stderr
        assert "Traceback" not in done.stderr
        assert done.stdout == ""


# -- the picture, and plain words


def test_the_picture_is_drawn_beside_the_words_and_not_beside_json(
    pair: tuple[Path, Path], tmp_path: Path
) -> None:
    _, after = pair
    done = call(after, "--out", tmp_path / "seen")
    assert done.exit_code == 0, done.stderr
    target = tmp_path / "seen" / "after-inspect.svg"
    assert target.name in done.stdout.replace("\n", "")
    assert target.read_bytes() == inspect_sheet(inspect_scan(after))
    assert "% of the area" in done.stdout or "cannot tell" in done.stdout
    assert call(after, "--json", "--out", tmp_path / "none").exit_code == 0
    assert not (tmp_path / "none").exists()


def test_a_scan_may_be_called_anything(pair: tuple[Path, Path], tmp_path: Path) -> None:
    _, after = pair
    for name, drawn in (("\u6d4b.tif", "ce-inspect-eb11d5.svg"), ("con.tif", "con-inspect.svg")):
        (tmp_path / name).write_bytes(after.read_bytes())
        assert call(tmp_path / name).exit_code == 0
        assert (tmp_path / "out" / drawn).exists()


def test_a_scan_without_a_resolution_is_told_plainly(tmp_path: Path) -> None:
    bare = tmp_path / "bare.tif"
    tifffile.imwrite(bare, np.full((200, 200), 9000, np.uint16), photometric="minisblack")
    done = call(bare)
    assert done.exit_code == 2
    assert done.stderr == (
        "holders: --dpi = (missing): bare.tif does not say its resolution: give the pixels per inch that it was "
        "scanned at, such as 1200\n"
    )


# -- the corrected copy


@pytest.mark.usefixtures("no_rings")
def test_the_correction_goes_into_a_copy(too_high: Path, tmp_path: Path) -> None:
    target = tmp_path / "new.toml"
    source = PRESET.read_text()
    found = told(too_high, "--preset", PRESET, "--write-preset", target)
    written = found["written_preset"]
    assert isinstance(written, dict)
    focus = written["changes"][0]
    assert focus["field"] == "bed.focus_height_mm"
    assert focus["old"] == 3.1
    # the film lay half a millimetre too high, so it was as if the sharp plane stood that much lower
    assert focus["new"] == pytest.approx(3.1 - 0.5, abs=0.15)
    assert written["path"] == str(target)
    assert "above the predicted surface" in written["why"]
    ledge = written["ledge_above_glass"]
    # what is wanted follows the focus; what is built of whole sheets is another stack, nearer to it
    heights = study_file(target).design.heights
    moved = heights.ledge_wanted - shipped_study(PRESET).design.heights.ledge_wanted
    assert moved == pytest.approx(focus["new"] - 3.1, abs=0.01)
    assert abs(ledge["new"] - heights.ledge_wanted) < abs(ledge["old"] - heights.ledge_wanted)
    # the copy loads, designs, and differs in the two numbers alone
    again = study_file(target)
    old, new = load(PRESET), load(target)
    assert new.bed.focus_height_mm == focus["new"]
    assert again.design.heights.drawn_ledge == pytest.approx(ledge["new"], abs=1e-3)
    bed = old.bed.model_copy(
        update={"focus_height_mm": focus["new"], "focus_sigma_mm": written["changes"][1]["new"]}
    )
    assert new == old.model_copy(update={"bed": bed})
    # every line of the old preset is there, comments and order too, but for the two numbers
    kept = [
        line for line in source.splitlines() if not line.startswith(("focus_height_mm", "focus_sigma_mm"))
    ]
    lines = iter(target.read_text().splitlines())
    assert all(line in lines for line in kept)
    assert "too-high.tif" in target.read_text()
    assert "# measured on the archive's own flatbed" in target.read_text()
    assert PRESET.read_text() == source


@pytest.mark.usefixtures("no_rings")
def test_the_correction_in_words(too_high: Path, tmp_path: Path) -> None:
    target = tmp_path / "new.toml"
    done = call(too_high, "--preset", PRESET, "--write-preset", target)
    assert done.exit_code == 0, done.stderr
    assert target.exists()
    assert "bed.focus_height_mm: 3.1 ->" in done.stdout
    assert "because" in done.stdout
    assert "the ledge comes to" in done.stdout


@pytest.mark.usefixtures("no_rings")
def test_nothing_to_correct_writes_nothing_and_says_why(tmp_path: Path) -> None:
    scan = scan_of_preset(tmp_path / "right.tif", 0.0)
    target = tmp_path / "new.toml"
    written = told(scan, "--preset", PRESET, "--write-preset", target)["written_preset"]
    assert isinstance(written, dict)
    assert written["path"] is None
    assert written["changes"] == []
    assert "nothing to correct" in written["why"]
    assert not target.exists()
    assert "no preset written" in call(scan, "--preset", PRESET, "--write-preset", target).stdout


@pytest.mark.usefixtures("no_rings")
def test_what_cannot_be_written_is_refused_before_the_scan_is_read(too_high: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken.toml"
    taken.write_text("mine")
    for args, words in (
        (("--preset", PRESET, "--write-preset", taken), "exists already"),
        (("--preset", PRESET, "--write-preset", tmp_path / "no" / "new.toml"), "folder"),
        (("--write-preset", tmp_path / "new.toml"), "--preset"),
        (("--preset", tmp_path / "none.toml", "--write-preset", tmp_path / "new.toml"), "none.toml"),
    ):
        done = call(too_high, *args)
        assert done.exit_code == 2, args
        assert words in done.stderr
        assert done.stdout == ""
    assert taken.read_text() == "mine"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["taken.toml"]


@pytest.mark.usefixtures("no_rings")
def test_a_preset_that_cannot_be_changed_safely_is_refused(too_high: Path, tmp_path: Path) -> None:
    source = PRESET.read_text()
    begin, end = source.index("[bed]"), source.index("[film]")
    inline = tmp_path / "inline.toml"
    was = load(PRESET).bed
    bed = (
        f'bed = {{ name = "{was.name}", focus_height_mm = {was.focus_height_mm}, '
        f"focus_sigma_mm = {was.focus_sigma_mm} }}\n\n"
    )
    first = source.index("route =")
    inline.write_text(source[:first] + bed + source[first:begin] + source[end:])
    assert load(inline).bed == load(PRESET).bed
    target = tmp_path / "new.toml"
    done = call(too_high, "--preset", inline, "--write-preset", target)
    assert done.exit_code == 2
    assert "[bed]" in done.stderr
    assert not target.exists()
    # a text that looks like the table: the copy is read back and would differ
    hidden = tmp_path / "hidden.toml"
    note = 'note = """\n[bed]\nfocus_height_mm = 9.0\nfocus_sigma_mm = 9.0\n[x]\n"""\n'
    lines = [line for line in source.splitlines(keepends=True) if not line.startswith("note")]
    at = next(i for i, line in enumerate(lines) if line.startswith("route"))
    hidden.write_text("".join([*lines[:at], note, *lines[at:]]))
    assert load(hidden).bed == load(PRESET).bed
    done = call(too_high, "--preset", hidden, "--write-preset", target)
    assert done.exit_code == 2
    assert "by hand" in done.stderr
    assert not target.exists()
