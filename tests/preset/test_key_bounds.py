"""Every key of a preset at both its ends, as the schema file that is given to editors tells them.

``presets/preset.schema.json`` stands for what users were told; what a preset takes is tried against it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel, ValidationError

from holders.preset.schema import Preset
from tests.presets_made import SMALLEST, changed

FILE = Path(__file__).parents[2] / "presets" / "preset.schema.json"
TOLD: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
NEAR = 1e-9


def tables() -> Iterator[tuple[str, str]]:
    """Each key of a preset that is a table, and the name of its definition; first the preset's own keys as ""."""
    yield "", ""
    for key, told in TOLD["properties"].items():
        for one in (told, *told.get("anyOf", ()), told.get("items", {})):
            if "$ref" in one:
                yield key, one["$ref"].rpartition("/")[2]


def defined(name: str) -> dict[str, Any]:
    return TOLD["$defs"][name] if name else TOLD  # type: ignore[no-any-return]


KEYS = [
    pytest.param(table, key, told, id=f"{table}.{key}".strip("."))
    for table, name in tables()
    for key, told in defined(name)["properties"].items()
    if "$ref" not in str(told)
]


def tried(table: str, key: str, value: Any) -> bool:
    """Whether a preset takes that value, by whatever it complains of besides."""
    inner = {**SMALLEST.get(table, {}), **({"format": "4x5"} if table == "more_films" else {}), key: value}
    data = (
        changed(**{key: value})
        if not table
        else {**SMALLEST, table: [inner] if table == "more_films" else inner}
    )
    try:
        Preset.model_validate(data)
    except ValidationError as error:
        place = (key,) if not table else (table, 0, key) if table == "more_films" else (table, key)
        return not any(tuple(found["loc"][: len(place)]) == place for found in error.errors())
    return True


def ends(told: dict[str, Any]) -> Iterator[tuple[Any, bool]]:
    """Values at and just beyond what is told of one kind of value, and whether each is taken."""
    if "enum" in told or "const" in told:
        yield from ((word, True) for word in told.get("enum", [told.get("const")]))
        yield "weir", False
    elif told["type"] in ("integer", "number"):
        whole = told["type"] == "integer"
        step = told.get("multipleOf", 1) if whole else NEAR
        low, high = told.get("minimum"), told.get("maximum")
        make = int if whole else float
        if low is not None and told.get("exclusiveMinimum", -1) < low:
            yield make(low), True
            yield (int(low - step) if whole else low - max(NEAR, abs(low) * NEAR)), False
        elif "exclusiveMinimum" in told:
            yield make(told["exclusiveMinimum"]), False
            yield told["exclusiveMinimum"] + NEAR, True
        if high is not None:
            yield make(high), True
            yield (int(high + step) if whole else high * (1 + 1e-9)), False
        elif "exclusiveMaximum" in told:
            yield make(told["exclusiveMaximum"]), False
            yield told["exclusiveMaximum"] - NEAR, True
        if "multipleOf" in told:
            yield int(low or 0) + 1, False
        if not whole:
            yield from ((wrong, False) for wrong in (math.nan, math.inf, -math.inf))
        yield "weir", False
    elif told["type"] == "boolean":
        yield from ((True, True), (False, True), (1, False), ("yes", False))
    elif told["type"] == "string" and "pattern" not in told:
        least, most = told.get("minLength", 0), told.get("maxLength")
        yield "w" * least, True
        if least:
            yield "w" * (least - 1), False
        if most:
            yield "w" * most, True
            yield "w" * (most + 1), False
        yield 3, False


@pytest.mark.parametrize(("table", "key", "told"), KEYS)
def test_a_key_takes_what_its_schema_tells_and_nothing_beyond(
    table: str, key: str, told: dict[str, Any]
) -> None:
    kinds = told.get("anyOf", [told])
    for kind in kinds:
        if kind["type"] == "null":
            assert tried(table, key, None)
            continue
        if key == "heights_mm":  # they rise: tried below
            continue
        if kind["type"] == "array":
            inner = dict(ends(kind["items"]))
            good = next(value for value, taken in inner.items() if taken)
            most = kind["maxItems"]
            assert tried(table, key, [good] * most)
            assert not tried(table, key, [good] * (most + 1))
            for value, taken in inner.items():
                assert tried(table, key, [value]) == taken, value
            continue
        for value, taken in ends(kind):
            others = any(one.get("const") == value or value in one.get("enum", ()) for one in kinds)
            assert tried(table, key, value) == (taken or others), value


@pytest.mark.parametrize(
    ("name", "good"),
    [("low-weir_4.toml", True), ("a.toml", True), ("w" * 75 + ".toml", True), ("w" * 76 + ".toml", False),
     ("../a.toml", False), (".toml", False), (".hidden.toml", False), ("a.txt", False), ("a b.toml", True)],
)  # fmt: skip
@pytest.mark.parametrize("table", ["film", "more_films"])
def test_a_record_is_a_plain_file_name(table: str, name: str, good: bool) -> None:
    assert tried(table, "record", name) == good


@pytest.mark.parametrize(
    ("heights", "good"),
    [([], True), ([1.0, 2.0, 3.0], True), ([1.0 + k for k in range(12)], True),
     ([1.0 + k for k in range(13)], False), ([1.0, 1.0, 1.0], False),
     ([2.0, 1.0, 3.0], False), ([0.0, 1.0, 2.0], False), ([98.0, 99.0, 100.0], True), ([98.0, 99.0, 100.1], False)],
)  # fmt: skip
def test_heights_of_a_stair_rise(heights: list[float], good: bool) -> None:
    assert tried("coupon", "heights_mm", heights) == good


def test_a_key_left_out_is_what_its_schema_tells() -> None:
    made = Preset.model_validate(SMALLEST)
    for table, name in tables():
        if table == "more_films":
            continue
        part: Any = made if not table else getattr(made, table)
        if part is None:  # a table that was left out: all its keys by themselves
            (model,) = (
                one for one in get_args(Preset.model_fields[table].annotation)
                if isinstance(one, type) and issubclass(one, BaseModel)
            )  # fmt: skip
            part = model.model_construct()
        for key, told in defined(name)["properties"].items():
            if key in SMALLEST.get(table, {}) or (not table and key in SMALLEST) or "default" not in told:
                continue
            value = getattr(part, key)
            assert (list(value) if isinstance(value, tuple) else value) == told["default"], f"{table}.{key}"


def test_what_is_needed_is_what_the_schema_tells() -> None:
    for table, name in tables():
        needed = defined(name).get("required", [])
        for key in needed:
            inner = {k: v for k, v in SMALLEST.get(table, {}).items() if k != key} if table else {}
            data = ({k: v for k, v in SMALLEST.items() if k != key} if not table
                    else {**SMALLEST, table: [inner] if table == "more_films" else inner})  # fmt: skip
            with pytest.raises(ValidationError, match="Field required"):
                Preset.model_validate(data)
        assert defined(name)["additionalProperties"] is False
        assert not tried(table, "weir", 1)
