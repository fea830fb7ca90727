"""What goes in first: the order of the loading steps is that of the bench, for every way of holding film."""

from __future__ import annotations

import pytest

from holders.checks.film.grip import Grips
from holders.design.resolve import design
from holders.output.sheet import loading, steps
from holders.output.sheet.blocks import Items
from holders.preset.load import load
from holders.study import job_of
from tests.kept import SHIPPED


def rows(name: str) -> list[str]:
    job, _ = job_of(load(SHIPPED / f"{name}.toml"))
    items = next(b for b in loading.section(job, design(job)).blocks if isinstance(b, Items))
    return list(items.rows)


@pytest.mark.parametrize(
    ("name", "order"),
    [
        ("8x10-printed", ("Lower one edge of the film", "Lower the lid frame", "Lay the holder on the glass")),
        ("8x10-mat-board", ("Lower one edge of the film", "Clean the glass plate", "Lay the holder on the glass")),
        ("35mm-channel", ("Lower one edge of the film", "The strip arches", "Lower the lid frame", "Lay the holder")),
        ("35mm-roll", ("Lay the holder on the glass", "Lay the film in from above", "Lower the lid", "Lay a strip")),
        ("8x10-one-board", ("Lay the holder on the glass", "Lay the film on the board")),
        ("4x5-two-glasses", ("Lay the lower plate", "Set one edge of the glass on the ledge", "Lay the holder on")),
        ("4x5-insert", ("Lower one edge of the film", "Lower the insert into", "Lay the holder on the glass")),
    ],
)  # fmt: skip
def test_order_of_the_bench(name: str, order: tuple[str, ...]) -> None:
    made = rows(name)
    places = [next(k for k, row in enumerate(made) if start in row) for start in order]
    assert places == sorted(places)
    assert sum(row.startswith(("Lay the holder", "Lay each")) for row in made) == 1
    assert (
        sum("finger notch" in row and "Lower one edge" in row for row in made) == 0
    )  # said once, with the lid


def test_edges_that_film_passes_are_smoothed_while_making() -> None:
    job, _ = job_of(load(SHIPPED / "35mm-roll.toml"))
    made = design(job)
    assert any(
        "Smooth the floor's edges" in row.words for row in steps.making(job.material, job.printer, made)
    )
    assert not any("Smooth" in row for row in rows("35mm-roll"))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (
            "whole-plate-glass",
            "To take the plate out, put gloved fingertips to its edges in the two openings",
        ),
        ("8x10-wet-mount", "To take the glass out, lift it by strong tape folded over its bare rim"),
        (
            "50mm-mounts",
            "at the finger notch, or with a folded card under one edge where its pocket has none",
        ),
        ("5x7-glass-cover", "lift the plate with gloved fingertips at its edges in the two openings"),
    ],
)
def test_what_was_laid_in_comes_out_as_the_check_judges(name: str, words: str) -> None:
    job, _ = job_of(load(SHIPPED / f"{name}.toml"))
    made = design(job)
    said = " ".join(rows(name))
    assert said.count(words) == 1
    (found, *_) = (
        one for one in Grips().check(job, made) if "openings" in one.subject or "notch" in one.subject
    )
    assert (found.level == "pass") is ("two openings at opposite edges" in said)
