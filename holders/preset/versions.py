"""Presets of older versions: opened as they were meant, with a line for each thing that was changed.

A version is a step in :data:`STEPS`: it looks at a preset's data as it was read and names the keys to set or to take
away, each with its line. The same changes are made in the data and, with comments and order kept, in the text.
"""

from __future__ import annotations

import copy
import itertools
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, TypeGuard

from holders.core.toml_text import TooDeep, parsed
from holders.facts import tables

Data = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that a step changes: keys and their new values (None takes a key away), and the line that says so."""

    keys: Mapping[str, Any]
    line: str


def current_text(text: str) -> tuple[str, tuple[str, ...]]:
    """A preset's text brought to today's version, and a line for each change; as it was where nothing changes.

    A text that is no TOML is returned as it is: reading it says what is wrong.
    """
    try:
        changes = changes_of(parsed(text))
    except (tomllib.TOMLDecodeError, TooDeep, RecursionError, ValueError):
        return text, ()
    if not changes:
        return text, ()
    from holders.preset.edited import with_values  # noqa: PLC0415 - its library is wanted only here

    keys = {key: value for change in changes for key, value in change.keys.items()}
    return with_values(text, {"holders_preset": len(STEPS) + 1, **keys}), tuple(c.line for c in changes)


def current_data(data: Data) -> dict[str, Any]:
    """A preset's parsed data brought to today's version."""
    made = copy.deepcopy(dict(data))
    for change in changes_of(data):
        made["holders_preset"] = len(STEPS) + 1
        _apply(made, change)
    return made


def changes_of(data: Data) -> tuple[Change, ...]:
    """What the steps from a preset's version to today's change in it; nothing where its version cannot be read."""
    version = data.get("holders_preset")
    if isinstance(version, bool) or not isinstance(version, int) or not 1 <= version <= len(STEPS):
        return ()
    made, changes = copy.deepcopy(dict(data)), []
    for number in range(version, len(STEPS) + 1):
        for rule in STEPS[number - 1]:
            for change in rule(made):
                _apply(made, change)
                changes.append(Change(change.keys, f"preset of version {number}: {change.line}"))
    return tuple(changes)


def _apply(made: dict[str, Any], change: Change) -> None:
    for path, value in change.keys.items():
        table, _, key = path.rpartition(".")
        here = made.setdefault(table, {}) if table else made
        if value is None:
            here.pop(key, None)
        else:
            here[key] = value


def _layer(data: Data) -> Iterator[Change]:
    """Layers thinner than a hundredth of a millimetre took for ever."""
    layer = _table(data, "printer").get("layer_mm")
    if _number(layer) and 0 < layer < THINNEST_MM:
        line = f"printer.layer_mm = {layer:g} raised to {THINNEST_MM:g}, the thinnest layer that is designed with"
        yield Change({"printer.layer_mm": THINNEST_MM}, line)


def _printer(data: Data) -> Iterator[Change]:
    """A printer whose row is gone is written out over the nearest one that is there."""
    printer = _table(data, "printer")
    name = printer.get("name")
    gone = _rows("printers", name)
    if not gone or _row("printers", name):
        return
    own = {key: value for key, value in gone.items() if key == "name" or key not in printer}
    size = " x ".join(f"{gone[f'build_{axis}_mm']:g}" for axis in "xyz")
    line = f"the printer {name} is in the table no more: {gone['name']}, with {size} mm where the preset says nothing"
    yield Change({f"printer.{key}": value for key, value in own.items()}, line)


def _stair(data: Data) -> Iterator[Change]:
    """Readings of a stair that does not climb say nothing, and once passed unseen."""
    heights = _table(data, "coupon").get("heights_mm")
    if not isinstance(heights, list) or not all(map(_number, heights)):
        return
    if any(high <= low for low, high in itertools.pairwise(heights)):
        read = ", ".join(f"{height:g}" for height in heights)
        line = f"coupon.heights_mm = {read} taken away: a stair climbs, so these are not its heights; read it again"
        yield Change({"coupon.heights_mm": None}, line)


def _base(data: Data) -> Iterator[Change]:
    """A value of the film's base that lies in the range the table had, and not in today's, keeps that range."""
    base = _table(data, "base")
    name = base.get("name") or _row("formats", _table(data, "film").get("format")).get("base")
    old, new = _rows("bases", name), _row("bases", name)
    for what, unit in (("modulus", "mpa"), ("curl", "per_m")):
        keys = [f"{what}{part}_{unit}" for part in ("_low", "", "_high")]
        if not any(key in base for key in keys):
            continue
        then, now = ({**new, **old, **base}, {**new, **base})
        values = [[row.get(key) for key in keys] for row in (then, now)]
        if all(map(_number, (*values[0], *values[1]))) and _orderly(values[0]) and not _orderly(values[1]):
            own = {f"base.{key}": then[key] for key in keys if key not in base and then[key] != now[key]}
            said = ", ".join(f"{key} = {value:g}" for key, value in own.items())
            yield Change(
                own,
                f"{said} written out: the table's range has been corrected since, and would exclude yours",
            )


def _frame(data: Data) -> Iterator[Change]:
    """A pitch that was as long as the table's frame keeps that frame where the table's has grown."""
    film = _table(data, "film")
    name, pitch = film.get("format"), film.get("frame_pitch_mm")
    old, new = _rows("formats", name), _row("formats", name)
    if not old or not _number(pitch) or "image_height_mm" in film:
        return
    frame = old["image_height_mm"]
    if frame <= pitch < new["image_height_mm"]:
        line = f"film.image_height_mm = {frame:g} written out: the table has a longer frame by now"
        yield Change({"film.image_height_mm": frame}, f"{line} than your pitch")


def _play(data: Data) -> Iterator[Change]:
    """A printed lid that says nothing of its play had some; today it rests on the film."""
    lid = data.get("lid")
    if data.get("route") == "print" and isinstance(lid, dict) and "play_mm" not in lid:
        line = (
            f"lid.play_mm = {OLD_PLAY_MM:g} written out: a lid rests on the film by now where nothing is said"
        )
        yield Change({"lid.play_mm": OLD_PLAY_MM}, line)


def _no_pocket(data: Data) -> Iterator[Change]:
    """A pocket of no depth was passed over where sheets are cut; by now it means a board without one."""
    depth = _table(data, "layout").get("pocket_depth_mm")
    if data.get("route") in ("laser", "knife") and _number(depth) and depth == 0:
        line = "layout.pocket_depth_mm = 0 taken away: it did nothing, and by now means one board without a pocket"
        yield Change({"layout.pocket_depth_mm": None}, line)


def _catches(data: Data) -> Iterator[Change]:
    """Screws with their turn buttons went; spring catches keep the glass."""
    cover = _table(data, "cover")
    if "buttons" in cover:
        none = {"cover.catches": 0} if cover["buttons"] == 0 else {}  # else as many as find room
        yield Change(
            {**none, "cover.buttons": None},
            "cover.buttons is by now cover.catches: springs that are cut, no screws; left out, as many as find room",
        )
    for key in ("button_thickness_mm", "screw"):
        if key in cover:
            yield Change(
                {f"cover.{key}": None},
                f"cover.{key} taken away: a plate has spring catches, no screwed buttons",
            )


def _slanted(data: Data) -> Iterator[Change]:
    """Carriers that were made have slanted corners, and new inserts must go into them."""
    if isinstance(data.get("carrier"), dict) and "corner" not in _table(data, "carrier"):
        yield Change(
            {"carrier.corner": "slanted"}, 'carrier.corner = "slanted" written out, for the carriers made so'
        )


def _round_feet(data: Data) -> Iterator[Change]:
    """Feet were round, and their holders stand on them."""
    if isinstance(data.get("feet"), dict) and "form" not in _table(data, "feet"):
        yield Change({"feet.form": "round"}, 'feet.form = "round" written out; new holders have strips')


def _table(data: Data, name: str) -> Data:
    found = data.get(name)
    return found if isinstance(found, dict) else {}


def _row(kind: str, key: object) -> Data:
    """Today's row of facts as plain values; nothing where there is none of that name."""
    return next((row.model_dump() for row in tables.table(kind) if row.key == key), {})


def _rows(kind: str, key: object) -> Data:
    """What presets of version 1 could lean on in a row, where that has changed; nothing where it has not."""
    return next((row for name, row in _version_1()[kind].items() if name == key), {})


@cache
def _version_1() -> Mapping[str, Mapping[str, Data]]:
    return tomllib.loads((files("holders.preset") / "version_1.toml").read_text(encoding="utf-8"))


def _number(value: object) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _orderly(values: list[Any]) -> bool:
    return bool(values[0] <= values[1] <= values[2])


THINNEST_MM = 0.01
OLD_PLAY_MM = 0.2
# step k leads from version k + 1 to the next
STEPS: tuple[tuple[Callable[[Data], Iterator[Change]], ...], ...] = (
    (_layer, _printer, _stair, _base, _frame, _play, _no_pocket),
    (_catches, _slanted, _round_feet),
)
