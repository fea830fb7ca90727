"""A small file is written whole or not at all, and the system's refusals come out as one clear message."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from holders.core import atomic_write as aside
from holders.core.errors import InputError, MachineError


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_replacing_gives_the_new_bytes_and_leaves_nothing_beside(tmp_path: Path) -> None:
    target = tmp_path / "bed.toml"
    target.write_bytes(b"old")
    aside.replace_file(target, b"new \xff")
    assert target.read_bytes() == b"new \xff"
    assert names(tmp_path) == ["bed.toml"]


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO, errno.EROFS, errno.EPIPE])
def test_a_failure_at_any_step_keeps_the_old(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int
) -> None:
    target = tmp_path / "bed.toml"
    target.write_bytes(b"old")

    def fail(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(*((aside.os, "fsync") if step == "fsync" else (Path, "replace")), fail)
    with pytest.raises(MachineError, match="choose another place") as caught:
        aside.replace_file(target, b"new")
    monkeypatch.undo()
    assert caught.value.exit_code == 3
    assert target.read_bytes() == b"old"
    assert names(tmp_path) == ["bed.toml"]


def test_the_message_names_the_file_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "bed.toml"

    def fail(file: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", f".bed.toml.new-{file}")

    monkeypatch.setattr(aside.os, "fsync", fail)
    with pytest.raises(MachineError) as caught:
        aside.replace_file(target, b"new")
    assert str(caught.value).startswith(f"cannot write {target}: the disk is full")
    assert ".new" not in str(caught.value)


def test_a_new_file_never_overwrites(tmp_path: Path) -> None:
    target = tmp_path / "mine.toml"
    aside.new_file("FILE", target, b"mine")
    with pytest.raises(InputError, match="exists already"):
        aside.new_file("FILE", target, b"other")
    assert target.read_bytes() == b"mine"
    assert names(tmp_path) == ["mine.toml"]


def test_a_new_file_does_not_overwrite_one_that_appears_meanwhile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "mine.toml"
    flush = os.fsync

    def another_run(handle: int) -> None:
        flush(handle)
        target.write_bytes(b"another run's")

    monkeypatch.setattr(aside.os, "fsync", another_run)
    with pytest.raises(InputError, match="exists already"):
        aside.new_file("FILE", target, b"mine")
    assert target.read_bytes() == b"another run's"
    assert names(tmp_path) == ["mine.toml"]


def test_without_hard_links_a_new_file_is_still_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(aside.os, "link", refuse)
    aside.new_file("FILE", tmp_path / "mine.toml", b"mine")
    assert (tmp_path / "mine.toml").read_bytes() == b"mine"
    assert names(tmp_path) == ["mine.toml"]


def test_a_missing_folder_is_named_with_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match=r"nowhere.*does not exist: make it first"):
        aside.new_file("FILE", tmp_path / "nowhere" / "mine.toml", b"")
