"""Films kept in a folder: the same film to the last bit, found by what was asked and by what solved it."""

from __future__ import annotations

import pickle
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from holders.core.errors import NotConverged
from holders.film import solved
from holders.film import surface as module
from holders.film.folder import FOLDER, users_folder
from holders.film.hold import Hold
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.solver.interior import Effort
from holders.film.surface import solve_surface

SHEET = Sheet(width_mm=101.6, height_mm=127.0, thickness_mm=0.18, modulus_mpa=4500.0, poisson=0.38,
              density_kg_m3=1390.0, curl_x_per_m=-3.0, curl_y_per_m=0.0, emulsion="down")  # fmt: skip
LID = Support(kind=Kind.LID, lips=Lips.all_round(3.0), hold=Hold(weight_n=0.05))
COARSE = 7


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(FOLDER, str(tmp_path / "films"))
    return tmp_path / "films"


def solve(effort: Effort | None = None, sheet: Sheet = SHEET) -> Surface:
    """As another process would: nothing is remembered."""
    module._place.cache_clear()
    return solve_surface(sheet, LID, resolution=COARSE, effort=effort)


def not_again(monkeypatch: pytest.MonkeyPatch) -> None:
    def again(*_: object) -> Surface:
        raise AssertionError("it was solved again")

    monkeypatch.setattr(module, "_under", again)


def test_a_kept_film_is_the_film_to_the_last_bit(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second, little = Effort(20.0), Effort(20.0), Effort(1e-3)
    made = solve(first)
    (file,) = folder.iterdir()
    assert folder.stat().st_mode & 0o077 == 0
    not_again(monkeypatch)
    read = solve(second)
    for field in fields(Surface):
        one, other = getattr(made, field.name), getattr(read, field.name)
        assert np.array_equal(one, other) if isinstance(one, np.ndarray) else one == other, field.name
    assert read.lid is not None
    assert second.left == first.left  # charged as if it had been solved
    with pytest.raises(NotConverged):
        solve(little)
    assert list(folder.iterdir()) == [file]


def test_another_film_or_another_method_is_another_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = (1e-8, COARSE, True)
    names = {solved.place(SHEET, LID, *asked)}
    for sheet, support, settings in (
        (SHEET.model_copy(update={"curl_y_per_m": 1e-9}), LID, asked),
        (SHEET.model_copy(update={"emulsion": "up"}), LID, asked),
        (SHEET, LID.model_copy(update={"ledge_height_mm": 3.1}), asked),
        (SHEET, LID.model_copy(update={"hold": Hold(weight_n=0.06)}), asked),
        (SHEET, LID, (1e-9, COARSE, True)),
        (SHEET, LID, (1e-8, COARSE + 1, True)),
        (SHEET, LID, (1e-8, COARSE, False)),
    ):
        names.add(solved.place(sheet, support, *settings))
    monkeypatch.setattr(solved, "_method", lambda: "solved otherwise")
    names.add(solved.place(SHEET, LID, *asked))
    assert len(names) == 9
    assert {name.parent for name in names if name} == {folder}
    monkeypatch.setenv(FOLDER, "")
    assert solved.place(SHEET, LID, *asked) is None


def test_what_solves_is_known_by_its_code_and_libraries(monkeypatch: pytest.MonkeyPatch) -> None:
    solved._method.cache_clear()
    own = solved._method()
    with monkeypatch.context() as other:
        other.setattr(np, "__version__", "0.0.1")
        solved._method.cache_clear()
        assert solved._method() != own
    with monkeypatch.context() as other:
        read = Path.read_bytes
        other.setattr(Path, "read_bytes", lambda path: read(path) + b"#" * (path.name == "surface.py"))
        solved._method.cache_clear()
        assert solved._method() != own
    solved._method.cache_clear()
    assert solved._method() == own


class Trap:
    """What a file must not be able to run."""

    def __reduce__(self) -> tuple[object, ...]:
        return (pytest.fail, ("a kept film was run as code",))


@pytest.mark.parametrize("harm", ["cut", "empty", "noise", "pickle", "key", "told"])
def test_a_spoilt_file_is_as_if_it_were_not_there(folder: Path, harm: str) -> None:
    made = solve()
    (file,) = folder.iterdir()
    whole = file.read_bytes()
    with np.load(file) as found:
        arrays = dict(found)
    if harm == "key":
        np.savez(file, **{name: array for name, array in arrays.items() if name != "z"})
    elif harm == "told":
        np.savez(file, **arrays | {"told": np.frombuffer(b'{"work": 1}', np.uint8)})
    else:
        spoilt = {"cut": whole[: len(whole) // 2], "empty": b"", "noise": b"\x00\xff" * 999}
        file.write_bytes(spoilt.get(harm) or (pickle.dumps(Trap()) if harm == "pickle" else b""))
    assert np.array_equal(solve().z, made.z)
    with np.load(file) as mended:
        assert mended["z"].shape == made.z.shape


def test_a_folder_that_cannot_be_written_to_is_no_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "films").write_text("a file")
    monkeypatch.setenv(FOLDER, str(tmp_path / "films"))
    assert solve().converged
    assert (tmp_path / "films").read_text() == "a file"


def test_what_was_used_longest_ago_goes_first(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import os

    folder.mkdir()
    for age, name in enumerate("dcba"):
        (folder / f"{name}.npz").write_bytes(b"x" * 100)
        os.utime(folder / f"{name}.npz", (age, age))
    (folder / "notes.txt").write_bytes(b"x" * 1000)  # not ours
    monkeypatch.setattr(solved, "MOST_BYTES", 250)
    solved._swept(folder)
    assert sorted(path.name for path in folder.iterdir()) == ["a.npz", "b.npz", "notes.txt"]
    monkeypatch.setattr(solved, "SWEEPS", "g")  # every name of hexadecimal digits
    made = solve()
    assert made.converged
    assert len(list(folder.glob("*.npz"))) == 3  # looked at before the new one is written


def test_the_users_own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    end = Path("holders") / "films"
    assert users_folder("linux", {}) == tmp_path / ".cache" / end
    assert users_folder("linux", {"XDG_CACHE_HOME": "/var/own"}) == Path("/var/own") / end
    assert users_folder("linux", {"XDG_CACHE_HOME": "own"}) == tmp_path / ".cache" / end  # must be absolute
    assert users_folder("darwin", {"XDG_CACHE_HOME": "/var/own"}) == tmp_path / "Library" / "Caches" / end
    assert users_folder("win32", {"LOCALAPPDATA": "C:/own"}) == Path("C:/own") / end

    def homeless() -> Path:
        raise RuntimeError("no home")

    monkeypatch.setattr(Path, "home", homeless)
    assert users_folder("linux", {}) is None
