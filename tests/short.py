"""Which cases of a long list always run: the others wait for ``--slow``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Any

import pytest


def some(values: Iterable[Any], *kept: Any) -> list[Any]:
    """The values as parameters; those not named run with ``--slow`` alone.

    Raises ValueError where a kept one is none of the values, so that a list that changes loses nothing unseen.
    """
    every = list(values)
    if missing := [one for one in kept if one not in every]:
        raise ValueError(f"{missing} are none of the cases")
    return [one if one in kept else pytest.param(one, marks=pytest.mark.slow) for one in every]


def each_once(*axes: Sequence[Any]) -> list[Any]:
    """All combinations as parameters; only so many always run that every value of every axis does."""
    longest = max(map(len, axes))
    quick = {tuple(k % len(axis) for axis in axes) for k in range(longest)}
    places = product(*(range(len(axis)) for axis in axes))
    return [
        pytest.param(
            *(axis[k] for axis, k in zip(axes, place, strict=True)),
            marks=() if place in quick else pytest.mark.slow,
        )
        for place in places
    ]
