"""What stands beside the headline: whose scanner it is for, what sharp means, and numbers that lie outside silently."""

from __future__ import annotations

from holders.core.findings import Finding
from holders.face.cli import show
from holders.face.shared.ramp import RampWish, room_words
from holders.output.sheet.content import for_whom
from holders.output.words.summary import of_row_words
from holders.preset.schema import Preset
from holders.study import Study, study
from holders.workshop.budget.tolerance import SHARP_SHARE, sharp_means
from tests.presets_made import changed


def made(**bed: object) -> Study:
    preset = Preset.model_validate(changed(title="Mine", bed={"name": "a4-wide", **bed}))
    return study(preset, extremes=False)


def test_a_height_of_the_beds_row_is_said_to_be_no_measurement() -> None:
    stand_in, own = made(), made(focus_height_mm=3.0, focus_sigma_mm=0.3)
    words = of_row_words(stand_in.job.preset, stand_in.job.bed, stand_in.design.heights)
    assert "sharpest 3 ± 0.3 mm above its glass" in words
    assert "yours may differ: measure it" in words
    assert for_whom(stand_in) == words
    assert of_row_words(own.job.preset, own.job.bed, own.design.heights) == ""
    assert for_whom(own).startswith("That is for your scanner")


def test_sharp_says_how_much_of_the_picture() -> None:
    assert sharp_means().startswith(f"Sharp: at least {100 * SHARP_SHARE:.0f} % of the picture")


def test_numbers_outside_without_a_warning_are_named() -> None:
    silent = Finding(code="a", level="skip", title="In focus, worst film", measured=0.4, limit=0.5)
    unfit = Finding(code="b", level="skip", title="No lid")
    passed = Finding(code="c", level="pass", title="All well", measured=1.0)
    assert show.outside_words([silent, unfit, passed]) == (
        "outside their limits without a warning: in focus, worst film"
    )
    assert show.outside_words([unfit, passed]) == ""
    assert show._block(silent, "", False)[0] == "[dim]outside[/]"


def test_a_ramp_says_over_which_target_a_lid_will_not_close() -> None:
    """Slope, frame and clips stand 14.2 mm high; beds.toml supposes 12, 14, 15 and 18 mm of room."""
    words = room_words(RampWish(), None)
    assert words.startswith("Measure the room under your lid first")
    assert "one with 15 mm of room will not close over a target over 0.8 mm thick" in words
    assert "(a ruler of 2 mm fits with --high 4.5)" in words
    assert "18 mm" not in words
    assert room_words(RampWish(high=4.5, frame=5.0), None) == ""
