"""Single steps of the page's server: what a job tells, what the views are given, and how the form is put together."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from holders.core.errors import InputError
from holders.core.lines import Candidate
from holders.core.workers import Progress, Refused, TookTooLong, WorkerDied, cores
from holders.face.page import app as served
from holders.face.page import assets
from holders.face.page.form import form as forming
from holders.face.page.work import answers, curled, relief, routes, steps
from holders.face.page.work.jobs import Job, Jobs
from holders.face.page.work.orders import Unknown, slope_of
from holders.face.page.work.reading import ordered
from holders.face.page.work.worker import AnswerWorker, NoAnswer
from holders.output import typeface
from tests.face.page.pages import PRINTED


def test_a_job_that_has_not_begun_tells_no_share(tmp_path: Path) -> None:
    told = Job("make", tmp_path).told()
    assert (told["state"], told["share"], told["result"]) == ("waiting", 0.0, None)


class Slow:
    """A worker that answers at its fourth look, and counts how long it was waited for."""

    def __init__(self) -> None:
        self.looks: list[float] = []

    def answer(self, wait_s: float) -> Any:
        self.looks.append(wait_s)
        if len(self.looks) < 3:
            raise TookTooLong
        return Progress("drawing", 0.5) if len(self.looks) == 3 else {"ok": True}

    def stop(self) -> None: ...

    def end(self, grace_s: float) -> None: ...


def test_a_job_is_looked_after_a_few_times_a_second_and_no_more(tmp_path: Path) -> None:
    worker: Any = Slow()
    job = Job("make", tmp_path, state="running", worker=worker)
    asyncio.run(Jobs(tmp_path)._watch(job))
    assert (job.state, job.share, job.result) == ("done", 1.0, {"ok": True})
    assert all(0.1 <= wait_s <= 2.0 for wait_s in worker.looks)
    assert time.monotonic() - job.asked < 30.0


@pytest.mark.parametrize("spec", [None, SimpleNamespace(origin=None)])
def test_without_the_typeface_the_reader_s_own_letters_do(spec: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(typeface.importlib.util, "find_spec", lambda _: spec)
    monkeypatch.setattr(assets, "font_file", typeface.font_file.__wrapped__)  # nothing remembered
    with pytest.raises(ModuleNotFoundError, match="whose fonts are needed"):
        assets.font_file(typeface.REGULAR)
    assert assets._fonts() == {}


GRID = SimpleNamespace(x=np.array([0.0, 1.000049]), y=np.array([0.0, 2.0]), z=np.full((2, 2), 3.123456))


def test_the_view_is_given_lengths_to_a_micrometre_and_heights_to_a_tenth(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(relief, "image_rise_mm", lambda _: 0.0)
    film: Any = SimpleNamespace(
        grid=GRID, warm_grid=None, band=SimpleNamespace(low_mm=2.0, high_mm=4.0), least_gap_mm=0.2,
        picture=SimpleNamespace(left_mm=2.98765, head_mm=3.0, width_mm=95.12349, height_mm=120.0),
    )  # fmt: skip
    lips = SimpleNamespace(left=2.5126, right=2.5, head=3.0, foot=3.0)
    made: Any = SimpleNamespace(
        mine=[SimpleNamespace(lips=lips)], heights=SimpleNamespace(ledge_above_glass=3.10004)
    )
    job: Any = None
    seen = relief.relief(job, made, film)
    assert seen["picture"] == [2.988, 3.0, 95.123, 120.0]
    assert seen["lip"] == [2.513, 2.5, 3.0, 3.0]
    assert seen["z"] == [[3.1235, 3.1235]] * 2
    assert seen["ledge"] == 3.1


def test_other_curls_are_given_to_a_micrometre() -> None:
    one = SimpleNamespace(
        across_per_m=1.23456, below=0.5, inside=True, heights_mm=((0.12345, 0.0), (0.0, 0.0)), lid_rise_mm=0.0
    )
    film: Any = SimpleNamespace(
        sag=SimpleNamespace(curled=(one,)), band=SimpleNamespace(low_mm=2.0, high_mm=3.05),
        picture=SimpleNamespace(left_mm=0.0, head_mm=0.0, width_mm=10.0, height_mm=20.0),
    )  # fmt: skip
    lid = SimpleNamespace(on_film="lid")
    made: Any = SimpleNamespace(heights=SimpleNamespace(sharp_plane=3.0), on_film=lid)
    (seen,) = curled.curled_films(made, film, 101.6)
    assert (seen["curl"], seen["z"]) == (1.235, [[3.123, 3.0], [3.0, 3.0]])
    assert seen["x"] == [2.5, 7.5]
    assert seen["share"] == 0.75


@pytest.mark.parametrize(("fresh", "said"), [(["Lid"], "Lid (the usual ones for this way)"), ([], "")])
def test_only_parts_that_begin_afresh_are_said_to(
    fresh: list[str], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(routes, "_begun", lambda *_: ({}, fresh))
    holder = object()
    monkeypatch.setattr(routes, "_made", lambda _: holder)
    assert routes._tried({"route": "laser"}) == ({}, said, holder)


def test_a_slope_is_read_as_it_was_given_and_what_is_left_open_is_not() -> None:
    read = slope_of(
        {"rise": 6.0, "run": 60.0, "target": "acrylic-ruler", "dpi": None, "span": "", "reverse": True}
    )
    assert read == {"rise": 6.0, "run": 60.0, "target": "acrylic-ruler", "reverse": True}


def test_a_question_that_is_not_known_is_no_order() -> None:
    def refuse(_: Any) -> Any:
        raise Unknown("an unknown question")

    assert ordered(refuse, {}) == {"ok": False, "message": "an unknown question"}
    assert ordered(dict, {"dpi": 600}) == {"ok": True, "order": {"dpi": 600}}

    def short(_: Any) -> Any:
        raise InputError("measure.run", 0, "is no length")

    assert ordered(short, {})["ok"] is False


def test_a_table_that_no_group_names_stands_at_the_end_of_the_form(monkeypatch: pytest.MonkeyPatch) -> None:
    rest = {"key": "rest-new", "title": "New"}
    monkeypatch.setattr(forming, "_rest", lambda *_: [rest])
    groups = forming.form.__wrapped__()["groups"]  # what is kept of it is left alone
    assert [group["key"] for group in groups if rest in group["more"]] == [groups[-1]["key"]]
    assert groups[-1]["more"][-1] == rest


def test_a_ramp_that_is_asked_for_is_begun(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    begun = []
    monkeypatch.setattr(served, "ramp_of", lambda given: {"sheet": given["sheet"]})
    monkeypatch.setattr(Jobs, "run", lambda _, job, order: begun.append((job.kind, order["sheet"])))
    answer = page.post("/api/ramp", json={"sheet": 3.0})
    assert answer.status_code == 200
    assert (answer.json()["ok"], answer.json()["state"]) == (True, "waiting")
    assert begun == [("ramp", 3.0)]


def test_what_is_proposed_is_the_search_s_and_a_title_nobody_gave_stays_away(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []

    def tried(values: Any, _text_of: Any, kept: Any) -> tuple[dict[str, Any], str]:
        asked.append((dict(values), kept))
        return {**values, "cover": {"thickness_mm": 2.0}}, "A cover: 22 -> 68 of 100"

    monkeypatch.setattr("holders.search.propose.proposed", tried)
    untitled = {key: value for key, value in PRINTED.items() if key != "title"}
    found = answers.propose({"values": untitled, "by_hand": ["lip.all_mm"]})
    assert found["ok"]
    assert found["values"] == {**untitled, "cover": {"thickness_mm": 2.0}}
    assert found["words"] == "A cover: 22 -> 68 of 100"
    assert answers.propose({"values": PRINTED, "by_hand": []})["values"]["title"] == PRINTED["title"]
    assert answers.propose({"values": PRINTED, "by_hand": []})["ok"]  # remembered
    assert [kept for _, kept in asked] == [("lip.all_mm",), ()]


def test_a_long_answer_that_nobody_waits_for_is_given_up() -> None:
    """The page has gone on: its worker begins anew, so that the next question need not wait for the old one."""

    async def asked() -> float:
        worker = AnswerWorker(60.0)
        renewed: list[bool] = []
        worker._renew = lambda: renewed.append(True)  # type: ignore[method-assign]

        async def slow(_kind: str, _values: Any) -> dict[str, Any]:
            try:
                await asyncio.sleep(30.0)
            except asyncio.CancelledError:
                worker._renew()
                raise
            return {}

        looks: list[bool] = []

        async def left() -> bool:
            looks.append(True)
            return len(looks) > 2  # gone while it is worked out

        worker._answer = slow  # type: ignore[method-assign]
        begun = time.monotonic()
        with pytest.raises(NoAnswer, match="nobody waits"):
            await worker.ask("propose", {}, left, long=True)
        assert renewed == [True]
        worker.close()
        return time.monotonic() - begun

    assert asyncio.run(asked()) < 10.0


class Beside:
    """A helper that does what it is asked when its answer is fetched; with ``fails``, that instead."""

    def __init__(self, fails: Any = None) -> None:
        self.fails, self.asked = fails, []

    def ask(self, task: Any, *order: Any) -> None:
        self.asked.append(order[1].text)
        self.order = task, order

    ready = True

    def answer(self) -> Any:
        if isinstance(self.fails, Exception):
            raise self.fails
        return self.fails or self.order[0](*self.order[1])


@pytest.mark.parametrize("fails", [None, Refused("no", 3), WorkerDied()])
def test_a_helper_tries_its_share_of_the_changes_and_the_steps_are_the_same(
    fails: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = [
        Candidate(f"change {k}", {"lip.all_mm" if k % 3 else "feet.count": k}, "lip") for k in range(1, 8)
    ]
    found = SimpleNamespace(verdict=SimpleNamespace(next=(), chance=0.5))
    monkeypatch.setattr(steps, "text_of", lambda _: ("", None))
    monkeypatch.setattr(steps, "study", lambda *_: found)
    monkeypatch.setattr(steps, "with_rescue", lambda one: one)
    monkeypatch.setattr(steps, "candidates", lambda _: iter(every))
    monkeypatch.setattr(steps, "tried", lambda _, change: None if change.text.endswith("3") else change.text)
    monkeypatch.setattr(steps, "next_steps", lambda _, results: tuple(results))
    monkeypatch.setattr(steps, "_told", lambda step, _: step)

    def told(beside: Any) -> list[Any]:
        monkeypatch.setattr(steps, "helper", lambda: beside)
        trial = steps.Trial("{}")
        first = trial.more(0.0)
        assert not first["done"]
        assert first["tried"] == (1 if beside is None else 2)
        while not (last := trial.more(0.0))["done"]:
            pass
        assert last["tried"] == 7
        return list(last["next"])

    alone, beside = told(None), Beside(fails)
    assert alone == [f"change {k}" for k in (1, 2, 4, 5, 6, 7)]
    assert told(beside) == alone
    assert beside.asked[0] in ("change 7", "change 5")  # those of one film stay together


def test_a_helper_ends_with_its_worker() -> None:
    worker = AnswerWorker(helped=True)
    beside = worker._helper
    if beside is None:
        assert cores() == 1
        worker.close()
        return
    worker.close()
    assert not beside._process.is_alive()
