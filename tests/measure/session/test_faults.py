"""What on one scan asks for another: nothing on a good one, clipping from the share that is stated."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from holders.measure.finished.clipping import Clipping
from holders.measure.session.faults import faults_of, line_of

GOOD: Any = SimpleNamespace(
    rings=SimpleNamespace(found=False, told=True),
    sharpness=SimpleNamespace(in_band_fraction=0.95, most_in_band=None),
    placement=SimpleNamespace(window_error_mm=(0.3, -0.2), rebate_at=None),
    clipping=Clipping((0.0,) * 3, (0.0,) * 3),
)


def clipped(*high: float, border: tuple[float, ...] | None = None) -> Any:
    """A good scan but for its clipping."""
    return SimpleNamespace(**{**vars(GOOD), "clipping": Clipping((0.0,) * 3, high, border=border)})


@pytest.mark.parametrize("share", [0.0, 0.001, 0.002])
def test_a_good_scan_has_no_fault(share: float) -> None:
    assert faults_of(clipped(share, 0.0, 0.0)) == ()


def test_more_than_two_in_a_thousand_at_the_end_of_the_scale_is_a_fault() -> None:
    (fault,) = faults_of(clipped(0.0, 0.003, 0.0))
    assert fault.code == "clipped"
    assert fault.words == "clipped, no detail left in 0.3 % of green"


def test_a_clipped_clear_border_is_a_fault_of_its_own() -> None:
    (fault,) = faults_of(clipped(0.0, 0.0, 0.0, border=(0.5, 0.0, 0.0)))
    assert (fault.code, fault.words) == ("clipped", "the clear border is clipped in red")
    assert faults_of(clipped(0.0, 0.0, 0.0, border=(0.01, 0.0, 0.0))) == ()


def test_a_scan_whose_sharpness_cannot_be_told_is_not_called_sound() -> None:
    unclear: Any = SimpleNamespace(sharpness=SimpleNamespace(in_band_fraction=None), rings=GOOD.rings)
    assert line_of(GOOD, ()) == "nothing wrong seen"
    assert line_of(unclear, ()) == "nothing wrong seen; this scan does not show whether it is sharp"
    faults = faults_of(clipped(0.0, 0.003, 0.0))
    assert line_of(unclear, faults) == faults[0].words


def test_one_channel_is_not_called_free_of_rings() -> None:
    """Rings at 5 % contrast in one channel reach 0.92 of the threshold and were passed over as "nothing wrong seen"."""
    grey = SimpleNamespace(found=False, told=False)
    one: Any = SimpleNamespace(sharpness=GOOD.sharpness, rings=grey)
    neither: Any = SimpleNamespace(sharpness=SimpleNamespace(in_band_fraction=None), rings=grey)
    assert line_of(one, ()) == (
        "nothing wrong seen; this scan does not show most rings, as it has one channel only"
    )
    assert line_of(neither, ()) == (
        "nothing wrong seen; this scan does not show whether it is sharp nor most rings, as it has one channel only"
    )


@pytest.mark.parametrize(("places", "words"), [(1, "in one place"), (3, "in 3 places")])
def test_rings_are_counted_in_words(places: int, words: str) -> None:
    ringed: Any = SimpleNamespace(
        rings=SimpleNamespace(found=True, evidence="colour", where=[None] * places),
        sharpness=GOOD.sharpness,
        placement=GOOD.placement,
        clipping=GOOD.clipping,
    )
    (fault,) = faults_of(ringed)
    assert fault.words == f"Newton's rings {words}"
