"""Answers, measuring and making: the same functions, numbers and bytes as the command line."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import io
import re
import subprocess
import sys
import time
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from starlette.testclient import TestClient

from holders.core.findings import per_hundred
from holders.design.held.film_in_holder import designed
from holders.face.cli.commands.ramping import ramp
from holders.face.page.app import Limits, make_app
from holders.face.page.form.values import values_of
from holders.face.page.runfolder import make_folder, sweep
from holders.face.page.work.errands import pack
from holders.face.page.work.orders import ramp_of
from holders.face.page.work.worker import AnswerWorker, NoAnswer
from holders.face.shared.slope import geometry_of
from holders.measure.ramp import RampGeometry
from holders.measure.scan.thumbnail import thumbnail
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.shape import TargetShape
from holders.output.words.summary import summary
from holders.preset.load import parse
from holders.search.tried import with_steps
from holders.study import job_of, study
from tests.face.cli.test_surface import bowl_pair
from tests.face.page.pages import HEAD, PORT, PRINTED, ROOT, TOKEN, finished
from tests.measure.finished.scans import sagging_scan
from tests.measure.slope.simulator import Case, scan

SLOPE = Case(dpi=1200.0, length_mm=60.0, rows=160, rise_mm=6.0, z0_mm=2.8, number=3)


@pytest.fixture(scope="session")
def scan_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("scan") / "slope.tif"
    tifffile.imwrite(
        path, scan(SLOPE), resolution=(SLOPE.dpi, SLOPE.dpi), resolutionunit="INCH", photometric="minisblack"
    )
    return path


def test_the_sketch_is_the_design_with_flat_film(page: TestClient) -> None:
    answer = page.post("/api/sketch", json=PRINTED).json()
    assert answer["ok"]
    numbers = dict(answer["numbers"])
    assert numbers["Lip"] == "left 2.50, right 2.50, head 2.50, foot 2.50 mm"
    assert answer["plan"].startswith("<?xml")
    box, rings = answer["shape"]["box"], answer["shape"]["parts"][0]["slabs"][0]["rings"]
    assert max(rings[0][::2]) == pytest.approx(box[0] + box[2], abs=0.01)
    assert "findings" not in answer


def test_the_whole_answer_is_the_study(page: TestClient) -> None:
    answer = page.post("/api/whole", json=PRINTED).json()
    text = page.post("/api/save", json=PRINTED).json()["text"]
    expected = summary(study(parse(text, "x")), "x")
    assert answer["design"] == expected["design"]
    assert answer["findings"] == expected["findings"]
    assert answer["cautions"] == expected["cautions"]
    assert "Picture in focus" in dict(answer["numbers"])
    sooner = page.post("/api/chance", json=PRINTED).json()  # the same, without what takes longest
    assert sooner["verdict"] == answer["verdict"]
    assert sooner["stops"] == len(answer["stops"])
    made = study(parse(text, "x"))
    assert answer["verdict"]["text"] == made.verdict.text
    assert made.film.grid is not None
    assert np.array(answer["film"]["z"]) == pytest.approx(made.film.grid.z, abs=1e-4)


def test_what_cannot_be_made_names_its_field(page: TestClient) -> None:
    answer = page.post("/api/sketch", json={**PRINTED, "feet": {"thickness_mm": 9, "recess_mm": 1}}).json()
    assert not answer["ok"]
    assert answer["errors"][0]["field"] == "feet.thickness_mm"
    answer = page.post("/api/sketch", json={**PRINTED, "material": {"name": "pete"}}).json()
    assert answer["errors"][0]["field"] == "material.name"
    assert "petg" in answer["errors"][0]["way_out"]


def test_the_drawing_waits_for_no_film_and_no_check(monkeypatch: pytest.MonkeyPatch) -> None:
    """What must be there within 100 ms (scripts/bench_page.py) leaves out what takes long; asked again it is known."""
    from holders.face.page.work import answers

    def late(*_: object, **__: object) -> None:
        raise AssertionError("this takes too long for a drawing")

    values = {**PRINTED, "lip": {"all_mm": 2.37}}
    with monkeypatch.context() as without:
        without.setattr(answers, "designed", late)
        without.setattr(answers, "study", late)
        first = answers.sketch(values)
        assert first["ok"]
        assert {"plan", "section", "numbers", "shape"} <= set(first)
        without.setattr(answers, "design", late)
        assert answers.sketch(values) is first
        with pytest.raises(AssertionError):
            answers.film(values)


@pytest.mark.parametrize("key", ["8x10-small-printer", "4x5-insert"])
def test_the_films_answer_needs_no_cutting_up(key: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """It comes after the drawing and brings what its ledge changes, the same as of the holder in its pieces."""
    from holders.design import resolve
    from holders.face.page.work import answers

    text = (ROOT / "presets" / f"{key}.toml").read_text(encoding="utf-8")
    made, film = designed(job_of(parse(text, key))[0], ranges=False, draft=True)
    assert made.seams

    def late(*_: object, **__: object) -> None:
        raise AssertionError("this takes too long for a film")

    monkeypatch.setattr(resolve, "split", late)
    answer = answers.film(values_of(text, key))
    assert answer["section"] == answers.section.edge(made, answers.SECTION_MM).svg(
        f"{made.title}: section across a window"
    ).decode()  # fmt: skip
    assert film.grid is not None
    assert np.array(answer["film"]["z"]) == pytest.approx(film.grid.z, abs=1e-4)
    assert answer["numbers"][: len(answers.numbers(made))] == answers.numbers(made)
    assert not {"plan", "shape"} & set(answer)


def test_answers_to_one_form_share_their_design(monkeypatch: pytest.MonkeyPatch) -> None:
    from holders.face.page.work import answers

    calls: list[str] = []
    for name in ("designed", "job_of"):
        own = getattr(answers, name)
        monkeypatch.setattr(
            answers, name, lambda *a, own=own, name=name, **k: (calls.append(name), own(*a, **k))[1]
        )
    values = {**PRINTED, "lip": {"all_mm": 2.61}}
    drawn, flat, film = answers.draft(values), answers.sketch(values), answers.film(values)
    assert drawn["ok"]
    assert flat["ok"]
    assert calls == ["job_of", "designed"]
    assert {key: drawn[key] for key in film} == film
    answers.film({**values, "lip": {"all_mm": 2.62}})
    assert calls == ["job_of", "designed"] * 2


def test_open_tells_line_and_text(page: TestClient) -> None:
    text = page.post("/api/save", json=PRINTED).json()["text"]
    assert page.post("/api/open", content=text.encode()).json()["values"] == PRINTED
    broken = text.replace("all_mm = 2.5", 'all_mm = "wide"')
    answer = page.post("/api/open", content=broken.encode()).json()
    error = answer["errors"][0]
    assert not answer["ok"]
    assert error["field"] == "lip.all_mm"
    assert broken.splitlines()[error["line"] - 1] == error["text"] == 'all_mm = "wide"'
    assert page.post("/api/open", content=b"\xff\xfe\x00").status_code == 422


def test_shipped_presets_open_and_are_drawn(page: TestClient) -> None:
    presets = page.get("/api/form").json()["presets"]
    assert len(presets) >= 5
    for row in presets:
        values = page.post("/api/shipped", json={"key": row["key"]}).json()["values"]
        assert page.post("/api/sketch", json=values).json()["ok"], row


def test_the_zip_holds_the_command_lines_bytes(page: TestClient, tmp_path: Path) -> None:
    begun = page.post("/api/make", json={"values": PRINTED}).json()
    assert begun["state"] == "running"
    assert page.post("/api/make", json={"values": PRINTED}).status_code == 409
    assert page.post("/api/sketch", json={**PRINTED, "lip": {"all_mm": 3.3}}).json()[
        "ok"
    ]  # not frozen meanwhile
    done = finished(page, begun["key"])
    assert done["state"] == "done", done
    saved = page.post("/api/save", json=PRINTED).json()
    preset = tmp_path / saved["name"]
    preset.write_text(saved["text"], encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "holders",
        "make",
        str(preset),
        "--out",
        str(tmp_path / "out"),
        "--no-steps",
    ]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    made = {path.name: path.read_bytes() for path in (tmp_path / "out" / "low-weir-8x10").iterdir()}
    with zipfile.ZipFile(io.BytesIO(page.get(f"/api/jobs/{begun['key']}/zip").content)) as archive:
        assert archive.testzip() is None
        packed = {name.removeprefix("low-weir-8x10/"): archive.read(name) for name in archive.namelist()}
    assert packed == made
    assert {row["name"]: row["sha256"] for row in done["result"]["files"]} == {
        name: hashlib.sha256(data).hexdigest() for name, data in made.items()
    }


def test_a_zip_depends_on_names_and_contents_alone(tmp_path: Path) -> None:
    files = []
    for name in ("b.stl", "a.svg"):
        files.append(tmp_path / name)
        files[-1].write_bytes(name.encode() * 100)
    pack(tmp_path / "1.zip", "x", files)
    time.sleep(2.1)  # a zip's clock ticks every two seconds
    for path in files:
        path.touch()
    pack(tmp_path / "2.zip", "x", files)
    assert (tmp_path / "1.zip").read_bytes() == (tmp_path / "2.zip").read_bytes()


@pytest.mark.parametrize("material", ["abs-sheet", "eva-foam"])
def test_no_reason_makes_a_laser_file_of_what_must_not_be_cut(page: TestClient, material: str) -> None:
    values = {**PRINTED, "route": "laser", "material": {"name": material}, "title": "no"}
    begun = page.post("/api/make", json={"values": values, "anyway": "for the test"}).json()
    done = finished(page, begun["key"])
    assert done["state"] == "failed"
    assert "laser-material" in done["result"]["errors"][0]["way_out"]
    assert "does not lift" in done["result"]["errors"][0]["way_out"]


def test_a_stop_needs_a_reason_and_records_it(page: TestClient) -> None:
    stops = {**PRINTED, "lip": {"all_mm": 0.9}, "title": "no"}
    answer = page.post("/api/whole", json=stops).json()
    assert answer["stops"]
    begun = page.post("/api/make", json={"values": stops, "anyway": "   "}).json()
    done = finished(page, begun["key"])
    assert done["state"] == "failed"
    assert answer["stops"][0] in done["result"]["errors"][0]["way_out"]
    assert page.get(f"/api/jobs/{begun['key']}/zip").status_code == 404
    begun = page.post("/api/make", json={"values": stops, "anyway": "for the  test"}).json()
    assert finished(page, begun["key"])["state"] == "done"
    with zipfile.ZipFile(io.BytesIO(page.get(f"/api/jobs/{begun['key']}/zip").content)) as archive:
        assert b'"made_anyway_because": "for the test"' in archive.read("no/manifest.json")


def test_no_reason_cuts_chlorine_by_laser(page: TestClient) -> None:
    stops = {**PRINTED, "route": "laser", "material": {"name": "pvc-sheet"}, "title": "no"}
    begun = page.post("/api/make", json={"values": stops, "anyway": "for the test"}).json()
    done = finished(page, begun["key"])
    assert done["state"] == "failed"
    assert "hydrogen chloride" in done["result"]["errors"][0]["way_out"]
    assert page.get(f"/api/jobs/{begun['key']}/zip").status_code == 404


def begin(page: TestClient, **more: object) -> str:
    answer = page.post("/api/measure", json={"rise": 6.0, "run": 60.0, **more})
    assert answer.status_code == 200, answer.text
    return str(answer.json()["key"])


def test_a_scan_is_measured_with_progress(page: TestClient, scan_file: Path) -> None:
    key = begin(page)
    folder = page.app.app.state.room.folder  # type: ignore[attr-defined]
    assert page.put(f"/api/scan/{key}", content=scan_file.read_bytes()).json()["state"] == "running"
    assert page.post("/api/measure", json={"rise": 6, "run": 60}).status_code == 409
    done = finished(page, key)
    assert done["state"] == "done", done
    found = done["result"]["focus"]
    assert found["height"] == pytest.approx(SLOPE.z0_mm, abs=0.05)
    assert done["result"]["bed"]["focus_height_mm"] == round(found["height"], 2)
    over = done["result"]["over"]  # the curve stands over the scan where that height is: 6 mm over 60
    assert len(over) > 20
    assert max(over, key=lambda one: one[1])[0] == pytest.approx(SLOPE.z0_mm / 6.0, abs=0.03)
    assert not list(folder.glob("measure-*/scan")), "the scan was left on the disk"
    assert page.put(f"/api/scan/{key}", content=b"again").status_code == 404


def test_what_lies_on_the_slope_is_counted(page: TestClient, scan_file: Path) -> None:
    key = begin(page, target="acrylic-ruler", target_thickness=1.0, span=150.0)
    page.put(f"/api/scan/{key}", content=scan_file.read_bytes())
    result = finished(page, key)["result"]
    found = result["focus"]
    shape = TargetShape("acrylic-ruler", 1.0, 150.0)
    alone = measure_focus([scan_file], geometry=geometry_of(None, 6.0, 60.0, 0.0, False), shape=shape)
    assert found["height"] == pytest.approx(alone.height, abs=1e-6)
    assert found["assumed"] == list(alone.assumed)
    assert result["known"][0].endswith(f"a chance of {100 * alone.confidence:.0f} of 100.")
    assert [words[:10] for words in result["known"][1:]] == ["Resolution"] * (alone.resolution is not None)
    assert SLOPE.z0_mm - found["height"] > 0.05  # a thin ruler sags: what was sharp lay lower than the line


def test_the_ramp_is_that_of_the_command_line(page: TestClient, tmp_path: Path) -> None:
    answer = page.post("/api/ramp", json={"sheet": 3.0}).json()
    done = finished(page, answer["key"])
    assert done["state"] == "done", done
    ramp(
        high=6.0, target_width=35.0, length=166.0, layer=0.1, frame=8.0, sheet=3.0, out=tmp_path, as_json=True
    )
    alone = {path.name: path.read_bytes() for path in (tmp_path / "focus-ramp").iterdir()}
    packed = zipfile.ZipFile(io.BytesIO(page.get(f"/api/jobs/{answer['key']}/zip").content))
    assert {name.split("/")[1]: packed.read(name) for name in packed.namelist()} == {
        name: data for name, data in alone.items() if name in {n.split("/")[1] for n in packed.namelist()}
    }
    assert {"ramp.json", "ramp.stl"} <= {name.split("/")[1] for name in packed.namelist()}
    assert RampGeometry.model_validate_json(done["result"]["ramp"]) == RampGeometry()
    for wrong in (0, 99, "thick", True):
        assert page.post("/api/ramp", json={"sheet": wrong}).status_code == 422


def test_a_ramp_too_high_for_the_lid_is_refused_and_what_it_names_instead_fits(page: TestClient) -> None:
    answer = page.post("/api/ramp", json={"lid_room": 12.0})
    assert answer.status_code == 422
    error = answer.json()["errors"][0]
    assert error["field"] == "ramp.lid_room"
    assert "a slope that climbs to 4.5 mm and a frame of 5 mm, which fits" in error["way_out"]
    order = ramp_of({"lid_room": 12.0, "high": 4.5, "frame": 5.0})
    assert order == {"sheet": None, "wish": {"high": 4.5, "frame": 5.0}}
    assert ramp_of({"lid_room": 16.3}) == {"sheet": None, "wish": {}}
    for wrong, field in ((
        ({"high": 30}, "ramp.high"), ({"frame": 1}, "ramp.frame"), ({"lid_room": "low"}, "ramp.lid_room"),
        ({"sheet": 8.0}, "ramp.sheet"),
    )):  # fmt: skip
        answer = page.post("/api/ramp", json=wrong)
        assert answer.status_code == 422, wrong
        assert answer.json()["errors"][0]["field"] == field


def test_slopes_are_judged_before_the_scan_is_sent(page: TestClient) -> None:
    for given, field in (
        ({"run": 60}, "measure.rise"), ({"rise": "abc", "run": 60}, "measure.rise"),
        ({"rise": 6, "run": -1}, "measure.run"), ({"rise": 50, "run": 60}, "measure.rise"),
        ({"rise": 6, "run": 60, "start_height": 900}, "measure.start_height"),
        ({"rise": 6, "run": 60, "target": "jelly"}, "measure.target"),
        ({"rise": 6, "run": 60, "target_thickness": 900}, "measure.target_thickness"),
        ({"rise": 6, "run": 60, "span": -3}, "measure.span"), ({"rise": 6, "run": 60, "dpi": 0}, "measure.dpi"),
        ({"ramp_text": "{}x"}, "measure.ramp"),
    ):  # fmt: skip
        answer = page.post("/api/measure", json=given)
        assert answer.status_code == 422, given
        assert answer.json()["errors"][0]["field"] == field
    assert page.post("/api/measure", json={"path": "/etc/passwd"}).status_code == 400


def test_a_printed_ramps_own_file_is_taken(page: TestClient) -> None:
    text = RampGeometry().model_dump_json()
    answer = page.post("/api/measure", json={"ramp_text": text})
    assert answer.status_code == 200
    assert answer.json()["state"] == "waiting"
    assert page.post("/api/measure", json={"ramp_text": text, "rise": 6, "run": 60}).status_code == 422


def test_what_is_no_scan_is_told_without_our_file_names(page: TestClient) -> None:
    key = begin(page)
    page.put(f"/api/scan/{key}", content=b"this is no picture at all")
    done = finished(page, key)
    assert done["state"] == "failed"
    error = done["result"]["errors"][0]
    assert "TIFF" in error["way_out"]
    assert "tmp" not in error["message"]


@pytest.fixture(scope="module")
def finished_scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished scan of grain in a window, soft in the middle."""
    return sagging_scan(tmp_path_factory.mktemp("finished") / "low-weir-12.tif")


def looked_at(page: TestClient, scan: bytes, **order: object) -> dict[str, Any]:
    begun = page.post("/api/inspect", json=order)
    assert begun.status_code == 200, begun.text
    assert page.put(f"/api/scan/{begun.json()['key']}", content=scan).status_code == 200
    return finished(page, str(begun.json()["key"]))


def command(*args: str | Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "holders", *map(str, args)], cwd=ROOT, check=True, capture_output=True
    )


MARKS = re.compile(r">(\d+|[a-z]+ \d+\.\d)</text>")  # a map's numbers, and where its light ends


def test_pictures_say_what_the_command_lines_own_say(
    page: TestClient, scan_file: Path, finished_scan: Path, tmp_path: Path
) -> None:
    """Focus and inspection: on the page as wide as a phone, with the numbers of the command line's picture."""
    preset, out = tmp_path / "low-weir.toml", tmp_path / "out"
    preset.write_text(page.post("/api/save", json=PRINTED).json()["text"], encoding="utf-8")
    key = begin(page)
    page.put(f"/api/scan/{key}", content=scan_file.read_bytes())
    command("focus", scan_file, "--rise", "6", "--run", "60", "--out", out)
    narrow, wide = (
        finished(page, key)["result"]["picture"],
        (out / "focus-profile.svg").read_text(encoding="utf-8"),
    )
    title = re.findall(r"Sharpest [^<]* above the glass", wide)[0]
    assert title in narrow
    assert 'viewBox="0 0 72 ' in narrow  # mm: lettering of 2.5 mm has 12 pixels on a phone
    command("inspect", finished_scan, "--preset", preset, "--out", out)
    done = looked_at(page, finished_scan.read_bytes(), values=PRINTED)
    assert done["state"] == "done", done
    narrow, wide = done["result"]["picture"], (out / "low-weir-12-inspect.svg").read_text(encoding="utf-8")
    assert 'viewBox="0 0 72 ' in narrow
    assert len(MARKS.findall(wide)) > 20
    assert MARKS.findall(narrow) == MARKS.findall(wide)


def test_a_finished_scan_is_looked_at_and_not_kept(page: TestClient, finished_scan: Path) -> None:
    done = looked_at(page, finished_scan.read_bytes())
    assert done["state"] == "done", done
    result = done["result"]
    assert result["inspect"]["skew_deg"] == pytest.approx(0.3, abs=0.05)
    assert "seen" in result["inspect"]
    assert result["inspect"]["seen"] is None  # no holder was given
    assert "rings cannot be judged without colour" in result["headline"]
    assert (
        dict(result["rows"])["pattern"] == "the middle differs from the edges, as in film that sags or bows"
    )
    assert any("the middle and the edges differ in focus" in words for words in result["advice"])
    room = page.app.app.state.room  # type: ignore[attr-defined]
    assert not list(room.folder.glob("inspect-*/scan")), "the scan was left on the disk"


def test_a_finished_scan_is_refused_plainly(page: TestClient, tmp_path: Path) -> None:
    bare = tmp_path / "bare.tif"
    tifffile.imwrite(bare, np.full((200, 200), 9000, np.uint16), photometric="minisblack")
    done = looked_at(page, bare.read_bytes())
    assert done["state"] == "failed"
    error = done["result"]["errors"][0]
    assert error["field"] == "--dpi"
    assert "pixels per inch" in error["way_out"]
    assert "tmp" not in error["message"]
    assert looked_at(page, b"no picture")["state"] == "failed"
    for order, status in (
        ({"dpi": "many"}, 422),
        ({"dpi": 0}, 422),
        ({"values": {"route": "print"}}, 422),
        ({"path": "/etc/passwd"}, 400),
    ):
        assert page.post("/api/inspect", json=order).status_code == status, order


def test_uploads_are_bounded_in_size(page: TestClient, limits: Limits) -> None:
    key = begin(page)
    answer = page.put(
        f"/api/scan/{key}", content=b"", headers={"content-length": str(limits.upload_bytes + 1)}
    )
    assert answer.status_code == 413
    key = begin(page)
    pieces = (b"\0" * 1_048_576 for _ in range(limits.upload_bytes // 1_048_576 + 1))
    assert page.put(f"/api/scan/{key}", content=pieces).status_code == 413
    assert not list(page.app.app.state.room.folder.glob("measure-*"))  # type: ignore[attr-defined]
    key = begin(page)
    assert page.put(f"/api/scan/{key}", content=b"").status_code == 400


def test_cancelling_ends_the_process_and_clears_the_disk(page: TestClient, tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    path = tmp_path / "large.tif"
    tifffile.imwrite(path, rng.integers(0, 255, (2400, 12_000), np.uint8), resolution=(2400, 2400))
    key = begin(page)
    page.put(f"/api/scan/{key}", content=path.read_bytes())
    room = page.app.app.state.room  # type: ignore[attr-defined]
    process = room.jobs.get(key).worker._process
    assert page.delete(f"/api/jobs/{key}").json()["state"] == "cancelled"
    end = time.monotonic() + 5
    while process.is_alive() and time.monotonic() < end:
        time.sleep(0.02)
    assert not process.is_alive()
    assert not list(room.folder.glob("measure-*/*"))
    assert page.get(f"/api/jobs/{key}").json()["state"] == "cancelled"
    assert begin(page)  # the place is free again


def test_a_question_that_takes_too_long_is_ended_and_the_next_is_answered() -> None:
    limits = Limits(answer_s=0.001)
    with TestClient(
        make_app(PORT, TOKEN, limits), base_url=f"http://127.0.0.1:{PORT}", headers=HEAD
    ) as client:
        slow = client.post("/api/whole", json=PRINTED)
        assert slow.status_code == 503
        worker = client.app.app.state.room.workers["whole"]  # type: ignore[attr-defined]
        worker.wait_s = 30.0
        assert client.post("/api/whole", json=PRINTED).json()["ok"]


def test_no_time_goes_to_a_question_whose_page_is_gone() -> None:
    """One that waits behind another when its page is closed is dropped at its turn; others are answered."""

    async def asked() -> list[object]:
        worker = AnswerWorker(60.0)
        spent: list[str] = []

        async def answer(_worker: object, kind: str, _values: object) -> dict[str, object]:
            spent.append(kind)
            return {"ok": True}

        async def here() -> bool:
            return False

        async def gone() -> bool:
            return True

        worker._answer = lambda kind, values: answer(worker, kind, values)  # type: ignore[method-assign]
        try:
            found = await asyncio.gather(
                worker.ask("first", {}, here),
                worker.ask("second", {}, gone),
                worker.ask("third", {}),
                return_exceptions=True,
            )
        finally:
            worker.close()
        assert spent == ["first", "third"]
        return list(found)

    first, second, third = asyncio.run(asked())
    assert (first, third) == ({"ok": True}, {"ok": True})
    assert isinstance(second, NoAnswer)


def test_a_job_that_no_page_asks_after_is_ended(scan_file: Path) -> None:
    limits = Limits(unwatched_s=0.0)
    with TestClient(
        make_app(PORT, TOKEN, limits), base_url=f"http://127.0.0.1:{PORT}", headers=HEAD
    ) as client:
        begun = client.post("/api/make", json={"values": PRINTED}).json()
        job = client.app.app.state.room.jobs._jobs["make"]  # type: ignore[attr-defined]
        end = time.monotonic() + 20
        while job.state == "running" and time.monotonic() < end:
            time.sleep(0.05)
        assert (job.state, job.words) == ("failed", "the page was closed, so it was ended")
        assert client.get(f"/api/jobs/{begun['key']}").json()["state"] == "failed"


def test_folders_of_runs_that_died_are_swept(tmp_path: Path) -> None:
    dead, alive = tmp_path / "holders-page-4194304999-abc", make_folder(tmp_path)
    other = tmp_path / "holders-page-notes"
    for path in (dead, other):
        path.mkdir()
        (path / "scan").write_bytes(b"x")
    assert alive.stat().st_mode & 0o077 == 0
    sweep(tmp_path)
    assert not dead.exists()
    assert alive.exists()
    assert other.exists()


def test_steps_are_tried_a_few_at_a_time_and_are_those_of_the_command_line(page: TestClient) -> None:
    values = values_of((ROOT / "presets" / "8x10-mat-board.toml").read_text(encoding="utf-8"), "mat board")
    text = page.post("/api/save", json=values).json()["text"]
    expected = with_steps(study(parse(text, "x"), text)).verdict
    tried = []
    for _ in range(60):
        answer = page.post("/api/steps", json=values).json()
        assert answer["ok"]
        tried.append(answer["tried"])
        if answer["done"]:
            break
    assert answer["done"]
    assert tried == sorted(tried)
    assert [step["text"] for step in answer["next"]] == [step.text for step in expected.next]
    assert len(expected.next) > 0
    for told, step in zip(answer["next"], expected.next, strict=True):
        assert told["then"] == per_hundred(step.chance)
        again = study(parse(page.post("/api/save", json=told["values"]).json()["text"], "x"))
        assert again.verdict.chance == pytest.approx(step.chance, abs=1e-6)  # what it promises, it does


def test_steps_of_a_form_that_is_no_preset_name_the_field(page: TestClient) -> None:
    answer = page.post("/api/steps", json={**PRINTED, "lip": {"all_mm": "wide"}}).json()
    assert not answer["ok"]
    assert answer["errors"][0]["field"] == "lip.all_mm"


def test_a_stood_film_asks_for_what_is_known(page: TestClient) -> None:
    answer = page.post("/api/curl", json={"hollow": "left"}).json()
    assert answer["errors"][0]["field"] == "curl.hollow"
    assert page.post("/api/curl", json={"dpi": 0}).json()["errors"][0]["field"] == "curl.dpi"
    assert page.post("/api/curl", json={"chord": 3}).status_code == 400


def test_a_ruler_gives_the_curl_as_the_command_line_does(page: TestClient) -> None:
    """8000 h / (c² + 4 h²), by the arc's geometry; hollow toward the base is negative; each fault at its field."""
    found = page.post("/api/ruler", json={"chord": 100, "rise": 5, "hollow": "base"}).json()
    assert found["curl_per_m"] == pytest.approx(-8000 * 5 / (100**2 + 4 * 5**2))
    low, usual, high = (found["base"][f"curl_{k}per_m"] for k in ("low_", "", "high_"))
    assert low < usual < high < 0
    for given, field in (
        ({"rise": 5}, "curl.chord"),
        ({"chord": 100}, "curl.rise"),
        ({"chord": "wide", "rise": 5}, "curl.chord"),
        ({"chord": 100, "rise": 500}, "curl.rise"),
        ({"chord": 3, "rise": 1}, "curl.chord"),
        ({"chord": 100, "rise": 5, "hollow": "left"}, "curl.hollow"),
    ):
        answer = page.post("/api/ruler", json=given)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["field"] == field
    assert page.post("/api/ruler", json={"chord": 100, "rise": 5, "path": "/etc/passwd"}).status_code == 422


# where the stored first row and first column are seen: TIFF 6.0, tag 274 Orientation (from memory)
SEEN = {
    1: lambda r, c, _high, _wide: (r, c),  # top, left
    3: lambda r, c, high, wide: (high - 1 - r, wide - 1 - c),  # bottom, right
    6: lambda r, c, high, _wide: (c, high - 1 - r),  # right, top
    8: lambda r, c, _high, wide: (wide - 1 - c, r),  # left, bottom
}


@pytest.mark.parametrize("orientation", SEEN)
def test_a_scan_is_shown_back_the_right_way_round(tmp_path: Path, orientation: int) -> None:
    from PIL import Image

    stored = np.zeros((40, 60), np.uint8)
    stored[:10, :20], stored[30:, 50:] = 255, 120
    path = tmp_path / "scan.tif"
    tag = (274, "H", 1, orientation, False)
    tifffile.imwrite(path, stored, extratags=[tag], photometric="minisblack", resolution=(100, 100))
    png, lies = thumbnail(path)
    shown = np.asarray(Image.open(io.BytesIO(base64.b64decode(png))))
    assert lies == (orientation in (1, 3))
    assert shown.shape == ((40, 60) if lies else (60, 40))
    for r, c in np.ndindex(stored.shape):
        assert shown[SEEN[orientation](r, c, 40, 60)] == stored[r, c]


def test_two_scans_show_how_the_film_lies_beside_how_it_was_computed(
    page: TestClient, tmp_path: Path
) -> None:
    first, second = (path.read_bytes() for path in bowl_pair(tmp_path))
    begun = page.post("/api/surface", json={"values": PRINTED, "dpi": 300})
    assert begun.status_code == 200, begun.text
    key = str(begun.json()["key"])
    half = page.put(f"/api/scan/{key}", content=first).json()
    assert half["state"] == "waiting"  # for the second
    assert page.put(f"/api/scan/{key}", content=second).status_code == 200
    done = finished(page, key)
    assert done["state"] == "done", done
    result = done["result"]
    found, film = result["surface"], result["film"]
    assert found["shift"] == pytest.approx(12.0, abs=0.05)
    # the relief is that of the surface turned over: the page draws from the head, a scan begins at the foot
    assert film["z"][0][3] == pytest.approx(found["z"][-1][3], abs=1e-3)
    assert film["y"] == sorted(film["y"])
    assert "measured less computed" in result["picture"]
    assert "beside the prediction" in dict(result["rows"])
    room = page.app.app.state.room  # type: ignore[attr-defined]
    assert not list(room.folder.glob("surface-*/scan*")), "the scans were left on the disk"
    assert page.post("/api/surface", json={}).status_code == 422


def test_a_third_scan_with_the_holder_back_is_waited_for_and_counts(page: TestClient, tmp_path: Path) -> None:
    first, second = (path.read_bytes() for path in bowl_pair(tmp_path))
    rows = []
    for scans in ((first, second), (first, second, first)):
        begun = page.post("/api/surface", json={"values": PRINTED, "dpi": 300, "back": len(scans) == 3})
        assert begun.status_code == 200, begun.text
        key = str(begun.json()["key"])
        states = [page.put(f"/api/scan/{key}", content=scan).json()["state"] for scan in scans]
        assert states[:-1] == ["waiting"] * (len(scans) - 1)
        assert states[-1] != "waiting"
        done = finished(page, key)
        assert done["state"] == "done", done
        rows.append(done["result"]["surface"])
    two, three = ([v for row in found["sigma"] for v in row if v is not None] for found in rows)
    # the film did not move: less is left unsure
    assert sum(three) / len(three) < 0.95 * sum(two) / len(two)
