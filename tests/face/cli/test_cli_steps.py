"""Single steps of the command line: what is printed, and what programs read."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from rich.console import Console

from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.core.workers import Refused
from holders.face.cli import batch, show
from holders.face.cli.batch import Team
from holders.face.cli.commands import emptied, made, making
from holders.face.cli.commands.deciding import hanging
from holders.face.cli.commands.ramping import ramp
from holders.face.cli.commands.surfacing import surface
from holders.face.shared import ramp as ramp_shared
from holders.face.shared.expected import window_of_scan
from holders.measure.ramp import RampGeometry
from holders.measure.scan import opened
from holders.output.bundle import write

STOP = Finding(
    code="fit", level="stop", title="The holder is wider than the glass", advice="make it narrower"
)
WARN = Finding(code="bow", level="warn", title="It bows")
PASS = Finding(code="lamp", level="pass", title="It lies under the lamp")


def printed(shown: Any, width: int = 100) -> list[str]:
    console = Console(file=io.StringIO(), width=width, color_system=None)
    console.print(shown)
    assert isinstance(console.file, io.StringIO)
    return [line.rstrip() for line in console.file.getvalue().split("\n")]


def test_stops_are_shown_before_warnings_and_what_passed_only_where_asked() -> None:
    few = printed(show.findings_rows([WARN, PASS, STOP], everything=False))
    assert [line for line in few if line] == [
        "stop  The holder is wider than the glass (fit)",
        "      what to do: make it narrower",
        "warn  It bows (bow)",
    ]
    every = printed(show.findings_rows([WARN, PASS, STOP], everything=True))
    assert any("It lies under the lamp (lamp)" in line for line in every)


def test_names_stand_beside_their_lines() -> None:
    assert printed(show.blocks([("one", ("a", "b")), ("three", ("c",))]))[:3] == [
        "one    a",
        "       b",
        "three  c",
    ]


def test_a_table_has_no_frame_and_begins_at_the_left() -> None:
    assert printed(show.table("Beds", ["key", "name"], [["a4", "A4 bed"]]))[:4] == [
        "Beds", "key  name", "\u2500" * 12, "a4   A4 bed",
    ]  # fmt: skip


def test_further_lines_of_a_row_stand_under_its_words() -> None:
    assert hanging("  1. ", "press the lid on the film", 20) == "  1. press the lid\n     on the film"


@pytest.mark.parametrize(("pixels", "number"), [((340, 227), 1), ((227, 340), 2), ((680, 680), 3)])
def test_a_scan_is_of_the_window_whose_size_it_has(
    pixels: tuple[int, int], number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At 240 pixels to the inch, 36 x 24 mm is 340 x 227 pixels; its short side is less than an inch."""
    info = SimpleNamespace(width=pixels[0], height=pixels[1], dpi_x=240.0, dpi_y=240.0)
    monkeypatch.setattr(opened, "open_scan", lambda _: SimpleNamespace(info=info, close=lambda: None))
    windows = [
        SimpleNamespace(opening=SimpleNamespace(width=w, height=h)) for w, h in ((36, 24), (24, 36), (72, 72))
    ]
    found: Any = SimpleNamespace(job=SimpleNamespace(kinds=(1, 2)), design=SimpleNamespace(windows=windows))
    assert window_of_scan(found, Path("s.tif"), None) == number


def test_a_ramp_s_answer_says_that_it_was_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(ramp_shared, "ramp_bundle", lambda *_: {})
    monkeypatch.setattr(write, "write_all", lambda *_, **__: [])
    ramp(
        high=6.0,
        target_width=35.0,
        length=166.0,
        layer=0.1,
        frame=8.0,
        sheet=None,
        out=tmp_path,
        as_json=True,
    )
    answer = json.loads(capsys.readouterr().out)
    assert answer["ok"] is True
    assert RampGeometry.model_validate(answer["ramp"]) == RampGeometry()


def test_clipped_light_is_answered_to_a_hundred_thousandth(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holders.preset.holder_code.holder_code", lambda _: "code")
    box = SimpleNamespace(x=1.23456, y=0.0, width=10.0, height=20.0)
    window = SimpleNamespace(number=1, box=box, error_mm=(0.12345,), edges={}, clipped=0.0001234, specks=2)
    found: Any = SimpleNamespace(windows=[window], missing=(), elsewhere=(), offset_mm=(0.0, 0.0))
    monkeypatch.setattr("holders.output.words.emptied.doubts", lambda _: ())
    studied: Any = SimpleNamespace(job=None)
    (answer,) = emptied._answer(Path("s.tif"), studied, found)["windows"]
    assert answer["clipped"] == 0.00012
    assert (answer["x"], answer["error"]) == (1.235, [0.123])


def test_a_made_holder_is_put_right_before_a_new_one_is_made(capsys: pytest.CaptureFixture[str]) -> None:
    step = SimpleNamespace(text="The holder you have: raise it by 0.2 mm", by_hand=True, now=0.4, chance=0.8)
    design = SimpleNamespace(title="Weir", slug="weir")
    found: Any = SimpleNamespace(
        design=design, verdict=SimpleNamespace(text="Soft.", next=[step]), preset_text=""
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(making, "_for_whom", lambda _: None)
        making._open(Path("made"), found)
    last = " ".join(capsys.readouterr().out.split("\n")[-2].split())
    assert (
        last
        == "Before you make a new one, put right the holder you have: raise it by 0.2 mm: 40 -> 80 of 100"
    )


def test_a_holder_that_could_not_be_written_is_not_ok(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "summary", lambda *_: {"ok": True, "title": "Weir"})
    one: Any = SimpleNamespace(found=None, path="p.toml", records=Refused("the disk is full", 2))
    assert making._summary(one) == {"ok": False, "title": "Weir", "error": "the disk is full"}


def test_heights_of_a_made_holder_are_answered_to_a_micrometre(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holders.preset.holder_code.holder_code", lambda _: "code")
    monkeypatch.setattr(
        "holders.workshop.budget.as_made.read", lambda *_: SimpleNamespace(mean=3.2, twist=0.01239)
    )
    monkeypatch.setattr(
        "holders.workshop.budget.as_made.AsMade", lambda *_: SimpleNamespace(chance=lambda: 0.51239)
    )
    monkeypatch.setattr("holders.workshop.budget.as_made.rescues", lambda _: ())
    monkeypatch.setattr("holders.workshop.budget.enough.enough", lambda *_: None)
    heights = SimpleNamespace(ledge_above_glass=3.1239)
    found: Any = SimpleNamespace(job=SimpleNamespace(printer=None), design=SimpleNamespace(heights=heights))
    answer = made._judged(found, (3.2, 3.2, 3.2, 3.2))
    assert (answer["expected"], answer["off"], answer["twist"]) == (3.124, 0.076, 0.012)
    assert answer["chance"] == 0.5124


def test_a_film_record_wants_the_preset_that_says_which_film_it_is(tmp_path: Path) -> None:
    scan = tmp_path / "a.tif"
    with pytest.raises(InputError) as refusal:
        surface(
            (scan, scan, None), shift=None, ledge=None, lens_distance=None, preset=None, bed_record=None, dpi=None,
            out=tmp_path, as_json=True, film_record=tmp_path / "film.toml",
        )  # fmt: skip
    assert refusal.value.field == "--film-record"


class Idle:
    """A worker that answers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[Any] = []

    @property
    def signs(self) -> tuple[object]:
        return (self,)

    def ask(self, _: Any, *order: Any) -> None:
        self.asked.append(order)

    def answer(self) -> Any:
        return self.asked[-1]


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_every_order_is_answered_in_its_place_by_however_many(
    workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch, "wait", lambda signs: signs)
    team, told = Team(), []
    team.workers = [Idle() for _ in range(workers)]  # type: ignore[misc]
    orders = [(k,) for k in range(3)]
    found = team._each(len, orders, ["a", "b", "c"], lambda *how: told.append(how))
    assert found == orders
    assert [done for done, _, _ in told] == [1, 2, 3]
