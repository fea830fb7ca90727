"""Single steps of the search for what to do next."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.core.lines import Choice
from holders.preset.load import parse
from holders.preset.resolve import resolve
from holders.search import propose
from holders.search.candidates import candidates, film_keys
from holders.search.rescued import as_it_is
from holders.search.ways import rough_ways

PRINTED = (
    'holders_preset = 2\ntitle = "x"\nroute = "print"\nbed.name = "a4-wide"\nfilm.format = "4x5"\n'
    'material.name = "petg"\n'
)


def test_what_shapes_any_film_of_a_holder_is_kept_whatever_stands_before_it() -> None:
    """A further film's curl and the lips shape film; how that film's back is coated does not."""
    keys = {"more_films.0.base.curl_per_m": 2.0, "lip.all_mm": 3.0, "more_films.0.base.back_coat": "no"}
    assert film_keys(keys) == {("more_films.0.base.curl_per_m", 2.0), ("lip.all_mm", 3.0)}


@pytest.mark.parametrize(("read", "drawn"), [((), None), ((), 3.1), ((3.0, 3.1, 3.2, 3.1), None)])
def test_without_four_readings_and_the_height_they_were_drawn_at_nothing_is_known(
    read: tuple[float, ...], drawn: float | None
) -> None:
    """Nothing is designed again for that: the stand-in has no preset to do it with."""
    coupon = SimpleNamespace(ledge_mm=read, ledge_drawn_mm=drawn)
    found: Any = SimpleNamespace(job=SimpleNamespace(preset=SimpleNamespace(coupon=coupon)))
    assert as_it_is(found) is None


def test_a_change_of_film_says_of_which_only_where_there_are_several(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holders.search.candidates.small_frame", lambda _: None)  # it looks at a whole design
    windows = [SimpleNamespace(lips=SimpleNamespace(of=lambda _: 3.0))]
    more = PRINTED + '[[more_films]]\nformat = "5x7"\n'
    for text, several in ((PRINTED, False), (more, True)):
        job = resolve(parse(text, "x"))
        found: Any = SimpleNamespace(job=job, design=SimpleNamespace(windows=windows, mine=windows, sag=None))
        every = list(candidates(found))
        said = [one.text for one in every if one.text.startswith("Lay the film emulsion")]
        assert len(said) == 1
        assert said[0].endswith(f"({job.film_called})") is several
        assert not [one for one in every if one.text.startswith("Print in layers") and "(" in one.text]


def test_each_fitting_that_sees_more_is_tried_until_one_helps(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = []

    def studied(values: dict[str, Any], _: Any) -> str:
        tried.append(tuple(values))
        if "second" not in values:
            raise InputError("film.format", "8x10", "is larger than the lamp area")
        return "found"

    kinds = [SimpleNamespace(key=key, sees_more=key != "never") for key in ("first", "never", "second")]
    monkeypatch.setattr(propose, "FITTINGS", kinds)
    monkeypatch.setattr(propose, "_studied", studied)
    assert propose._designed({}, lambda _: "", ()) == ({"second": {}}, "found")
    assert tried == [(), ("first",), ("second",)]


def test_a_combination_that_cannot_be_designed_is_no_way() -> None:
    found: Any = SimpleNamespace(preset_text=PRINTED)
    assert rough_ways(
        [(Choice("a foot through the frame", {"feet.thickness_mm": 1.0, "feet.recess_mm": 1.0}),)], found
    ) == [None]
