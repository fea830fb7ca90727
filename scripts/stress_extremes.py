"""Presets that combine extremes: small film, large glass, filled, small printer, thin layers and sheets, many pieces.

Every case is a valid document of the preset's schema or nearly so, with sizes at the ends of what is allowed and titles
in every script; half of them start from a shipped preset, so that many get far. The case is made from ``--seed`` and
its number alone. ``scripts/stress.py`` reads and designs them with the film flat (``flat``), designs, checks and draws
them with their film and as the page shows them (``whole``), and makes those that were accepted (``made``).
"""

from __future__ import annotations

import json
import os
import random
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]

import stress_presets as presets  # noqa: E402

from holders.core.errors import HoldersError, InputError  # noqa: E402
from holders.face.page.form.values import values_of  # noqa: E402
from holders.face.page.work import answers  # noqa: E402
from holders.facts import tables  # noqa: E402
from holders.preset.load import located, parse  # noqa: E402
from holders.study import study  # noqa: E402

TITLES = (
    "Плёнка 8х10", "底片夹 八乘十", "フィルムホルダー", "필름 홀더", "ताल पुरालेख", "أرشيف السد", "ארכיון הסכר",
    "Αρχείο", "ไฟล์ม", "ქართული", "ફિલ્મ", "🎞 weir 🎞", "Ångström ß ﬁ ǆ", "e\u0301\u0302\u0303" * 8, "..", "CON", "a" * 80,
    "й" * 80, "龘" * 80, "-rf", "weir.", "{}", "%s%n", "&lt;b&gt; \"'", "𝔚" * 40, "﷽" * 80,
)  # fmt: skip
LIMIT_S, LIMIT_MIB = 15.0, 1024.0


def case(seed: int, number: int) -> str:
    """The text of case ``number``."""
    rng = random.Random(f"extremes/{seed}/{number}")
    shipped = tomllib.loads(rng.choice(presets.SHIPPED).read_text(encoding="utf-8"))
    made = shipped if rng.random() < 0.5 else plain(rng)
    wanted = rng.sample(EXTREMES, rng.choice((1, 2, 3, 5, len(EXTREMES))))
    for extreme in wanted:
        extreme(rng, made)
    return presets.toml(made)


def plain(rng: random.Random) -> dict[str, Any]:
    """The shortest holder of any film on any bed, of any material."""
    material = rng.choice(tables.table("materials"))
    return {
        "holders_preset": 1,
        "title": "weir",
        "route": rng.choice(material.routes),  # type: ignore[attr-defined]
        "bed": {"name": rng.choice(tables.table("beds")).key},
        "film": {"format": rng.choice(tables.table("formats")).key},
        "material": {"name": material.key},
    }


def put(made: dict[str, Any], table: str, **values: Any) -> None:
    """Keys into a table, which is added where it is missing."""
    made[table] = {**made.get(table, {}), **values}


def small_film(rng: random.Random, made: dict[str, Any]) -> None:
    """The smallest frames, or a strip as long as the bed."""
    made["film"] = {"format": rng.choice(("110", "mount-30", "mount-50", "35mm-strip", "127"))}
    if rng.random() < 0.6 and not made["film"]["format"].startswith("mount"):
        made["film"]["frames"] = rng.choice((1, 1, 2, 6))


def odd_film(rng: random.Random, made: dict[str, Any]) -> None:
    """Sizes of film at the ends, also such that picture and film hardly differ."""
    wide, high = rng.choice((5.0, 12.0, 60.0, 300.0, 900.0)), rng.choice((5.0, 12.0, 60.0, 300.0, 1900.0))
    edge = rng.choice((0.0, 0.05, 1.0, 4.0))
    put(
        made, "film", cut_width_mm=wide, cut_height_mm=high, image_width_mm=max(0.5, wide - edge),
        image_height_mm=max(0.5, high - edge), thickness_mm=rng.choice((0.01, 0.1, 0.2, 3.0)),
        tolerance_mm=rng.choice((0.0, 0.3, 2.0)),
    )  # fmt: skip


def large_glass(rng: random.Random, made: dict[str, Any]) -> None:
    """A glass up to what is allowed, lit nearly to its rims."""
    wide, long = rng.choice((216.0, 320.0, 600.0, 1200.0, 2000.0)), rng.choice((297.0, 450.0, 900.0, 2000.0))
    rim = rng.choice((0.0, 2.0, 10.0))
    calibration = rng.choice((0.0, 14.0))
    put(
        made, "bed", glass_width_mm=wide, glass_length_mm=long, lamp_x_mm=rim, lamp_y_mm=rim + calibration + 8.0,
        lamp_width_mm=wide - 2 * rim, lamp_length_mm=long - 2 * rim - calibration - 8.0, calibration_x_mm=wide / 4,
        calibration_y_mm=0.0, calibration_width_mm=wide / 2 if calibration else 0.0, calibration_length_mm=calibration,
    )  # fmt: skip


def odd_focus(rng: random.Random, made: dict[str, Any]) -> None:
    """Heights from the glass itself to far above it, bands of nothing."""
    put(
        made, "bed", focus_height_mm=rng.choice((0.0, 0.3, 1.0, 3.1, 8.0, 40.0)),
        focus_sigma_mm=rng.choice((0.0, 0.05, 5.0)), focus_band_mm=rng.choice((0.01, 0.3, 0.6, 10.0)),
        lid_room_mm=rng.choice((1.0, 15.0, 300.0)),
    )  # fmt: skip


def filled(rng: random.Random, made: dict[str, Any]) -> None:
    """As many as there is room for, or as may be asked."""
    put(
        made,
        "layout",
        count=rng.choice(("fill", "fill", 60, 59, 30, 12)),
        turn=rng.choice(("auto", "never", "always")),
    )


def tight(rng: random.Random, made: dict[str, Any]) -> None:
    """Walls, clearances and pockets at their ends."""
    put(
        made, "layout", wall_mm=rng.choice((0.1, 0.4, 2.0, 6.0, 50.0)), clearance_mm=rng.choice((0.0, 0.3, 5.0)),
        corner_radius_mm=rng.choice((0.0, 3.0, 50.0)), pocket_depth_mm=rng.choice((0.05, 0.3, 1.0, 20.0)),
        slide_gap_mm=rng.choice((0.0, 0.5, 50.0)), anchor=rng.choice(("middle", "home-corner", "head-corner")),
    )  # fmt: skip


def small_printer(rng: random.Random, made: dict[str, Any]) -> None:
    """A plate that cuts the holder into many pieces, nozzles and layers thin and thick."""
    if made.get("route") != "print" and rng.random() < 0.8:
        made["route"], made["material"] = "print", {"name": rng.choice(("pla", "petg", "pp"))}
    put(
        made, "printer", name="p300", build_x_mm=rng.choice((60.0, 90.0, 120.0, 180.0, 250.0, 300.0)),
        build_y_mm=rng.choice((60.0, 120.0, 200.0, 300.0)), margin_mm=rng.choice((0.0, 2.0, 20.0)),
        nozzle_mm=rng.choice((0.1, 0.4, 1.2)), layer_mm=rng.choice((0.01, 0.02, 0.1, 0.2, 1.0)),
        first_layer_mm=rng.choice((0.01, 0.2, 1.0)),
    )  # fmt: skip
    put(made, "split", fit=rng.choice(("glue", "press")))


def thin_sheets(rng: random.Random, made: dict[str, Any]) -> None:
    """Cut from sheets of a tenth of a millimetre, or of twelve."""
    material = rng.choice(("mat-board", "plywood-birch", "acrylic-cast", "foam-board", "pvc-sheet"))
    made["route"] = rng.choice(tables.material(material).routes)
    made.pop("printer", None)
    made["material"] = {
        "name": material,
        "sheets_mm": sorted(
            {rng.choice((0.05, 0.1, 0.3, 0.5, 1.0, 3.0, 12.0)) for _ in range(rng.choice((1, 2, 5)))}
        ),
    }


def fittings(rng: random.Random, made: dict[str, Any]) -> None:
    """Feet, lid, cover and carrier, at their ends."""
    if rng.random() < 0.6:
        made["feet"] = {
            "count": rng.choice((3, 4, 8)), "thickness_mm": rng.choice((0.1, 1.5, 10.0)),
            "diameter_mm": rng.choice((2.0, 8.0, 30.0)),
        }  # fmt: skip
    kind = rng.randrange(4)
    if kind == 0:
        made["lid"] = {
            "thickness_mm": rng.choice((0.4, 2.0, 20.0)), "lip_mm": rng.choice((0.0, 2.0, 30.0)),
            "magnets": rng.choice((0, 4)),
        }  # fmt: skip
    elif kind == 1:
        made.pop("lid", None)
        made["cover"] = {"thickness_mm": rng.choice((0.7, 2.0, 10.0)), "catches": rng.choice((0, 4, 8))}
    elif kind == 2:
        made["carrier"] = {
            "insert_width_mm": rng.choice((40.0, 120.0, 600.0)), "insert_length_mm": rng.choice((40.0, 150.0, 600.0))
        }  # fmt: skip
    else:
        made.pop("lid", None)


def curled(rng: random.Random, made: dict[str, Any]) -> None:
    """Film as flat as glass, or rolled up."""
    curl = rng.choice((0.0, 0.5, 4.0, 12.0, 30.0))
    put(made, "base", curl_low_per_m=curl / 3, curl_per_m=curl, curl_high_per_m=1.5 * curl)


def titled(rng: random.Random, made: dict[str, Any]) -> None:
    """Titles and notes in every script, short and as long as may be."""
    made["title"] = rng.choice(TITLES)
    made["note"] = (rng.choice(TITLES) + rng.choice((" ", "\n", ""))) * rng.choice((0, 1, 20))


EXTREMES = [
    small_film, large_glass, filled, small_printer, thin_sheets, titled, curled, fittings, tight, odd_focus, odd_film
]  # fmt: skip


def flat(text: str, *, checked: bool = True) -> None:
    """Read, design and, if ``checked``, check with the film flat; anything but a refusal in words is raised."""
    presets.attempt(text, whole=False, checked=checked)


def whole(text: str) -> tuple[bool, float, float, str]:
    """With film, checks, pictures, sheet and the page's own answers.

    Whether check accepts it, how large it is (pieces, then mm²), the longest of the steps in seconds of the processor,
    and which that was. Anything but a refusal in words is raised.
    """
    spent: dict[str, float] = {}

    def timed(name: str, work: Callable[[], Any]) -> Any:
        start = time.process_time()
        try:
            return work()
        finally:
            spent[name] = time.process_time() - start

    def longest() -> tuple[float, str]:
        name = max(spent, key=lambda step: spent[step])
        return spent[name], name

    try:
        preset = timed("read", lambda: parse(text, "case.toml"))
        found = timed("check", lambda: study(preset, text))
    except HoldersError as error:
        told = located(error, text, "case.toml") if isinstance(error, InputError) else error
        presets.one_line(told)
        return False, 0.0, *longest()
    timed("pictures", lambda: presets.shown(found, text))
    values = timed("form", lambda: values_of(text, "case.toml"))
    for kind in ("sketch", "draft", "film", "whole", "routes"):
        answer = timed(f"page, {kind}", partial(answers.KINDS[kind], values))
        json.dumps(answer, allow_nan=False)
    outer = found.design.outer
    return found.ok, len(found.design.parts) * 1e6 + outer.width * outer.height, *longest()


def commands(text: str) -> Iterator[tuple[str, list[str]]]:
    """The two commands on a preset's file in a folder of its own: what each is called, and its words."""
    with tempfile.TemporaryDirectory(prefix="holders-stress-") as room:
        path = Path(room) / "case.toml"
        path.write_text(text, encoding="utf-8")
        base = [sys.executable, "-m", "holders"]
        yield "check", [*base, "check", str(path)]
        yield "make", [*base, "make", str(path), "--out", str(Path(room) / "out")]
