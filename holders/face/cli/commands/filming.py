"""``film``: the film's surface in numbers, one table of comparisons, and a picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from string import ascii_lowercase
from typing import Any

from holders.core.errors import CheckStops
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.output.words.lid import lid_words
from holders.output.words.summary import rounded, verdict_summary
from holders.output.words.warmth import warm_rows, warm_summary
from holders.study import Study, study_file

ROUND = 6  # decimals of heights in JSON: a nanometre, far below what is meant


def film(path: Path, out: Path, as_json: bool, window: int | None = None) -> None:
    """Print the film surface of a preset and draw it to ``out/<name>-film.svg``.

    ``window`` is the number of the window whose film is wanted, in a holder for several kinds; None: the worst.
    """
    from holders.face.cli.answer import print_json

    with show.working("solving the film's surface"):
        found, _ = study_file(path).at_window(window)
    if found.film.grid is None:
        raise CheckStops(f"no film surface: {found.film.why_not}")
    if as_json:
        print_json(film_summary(found))
        return
    _tell(found)
    target = _draw(found, out)
    show.out().print(f"drawn: {escape(str(target))}")


def film_summary(found: Study) -> dict[str, Any]:
    """The surface as plain JSON values; x from the film's left edge, y from its head edge, mm."""
    grid, sag = found.film.grid, found.film.sag
    assert grid is not None
    assert sag is not None
    made: dict[str, Any] = {
        "preset": found.design.slug,
        "verdict": verdict_summary(found.verdict),
        "converged": grid.converged,
        "iterations": grid.iterations,
        "residual": grid.residual,
        "method": grid.method,
        "x": [round(float(v), ROUND) for v in grid.x],
        "y": [round(float(v), ROUND) for v in grid.y],
        "z": [[round(float(v), ROUND) for v in row] for row in grid.z],
        "max_sag": rounded(sag.max_mm),
        "mean_sag": rounded(sag.mean_mm),
        "min_gap": rounded(sag.min_gap_mm),
        "least_gap": found.film.least_gap_mm,
        "in_band_fraction": rounded(sag.in_band_fraction),
        "in_band_fraction_at_focus_height": sag.focus_fraction,
        "best_ledge_height": found.film.best_ledge_mm,
        "best_in_band_fraction": found.film.best_fraction,
    }
    surface = found.film.surface
    if surface is not None:
        made |= {
            "branch": surface.branch.name,
            "other_branches": [branch.name for branch in surface.other_branches],
            "within_theory": surface.within_theory,
            "weight_n": surface.weight_n,
            "total_reaction_n": surface.total_reaction_n,
        }
    if found.design.seen_above_mm:  # film on glass of its own: z is the glass's lower face
        made["seen_above"] = rounded(found.design.seen_above_mm)
    made["lid"] = _lid(found)
    made["warmth"] = _warmth(found)
    made |= _ranges(found)
    return made


def _lid(found: Study) -> dict[str, Any] | None:
    """What the film asks of its lid or cover; None without one that can move."""
    rest = None if found.film.sag is None else found.film.sag.lid
    if rest is None:
        return None
    return {
        "weight_n": rounded(rest.weight_n),
        "held_n": rounded(rest.held_n),
        "needed_n": rounded(rest.needed_n),
        "rise_mm": rounded(rest.rise_mm),
        "also_open_mm": rest.opens_mm,
    }


def _warmth(found: Study) -> dict[str, Any] | None:
    """The film cold and warm; None for glass and film in its mount. The warm film's heights where they are others."""
    made, grid = warm_summary(found.job, found.film.sag), found.film.warm_grid
    if made is not None and made["warm"] is not None and grid is not None:
        made["warm"] |= {
            "x": [round(float(v), ROUND) for v in grid.x],
            "y": [round(float(v), ROUND) for v in grid.y],
            "z": [[round(float(v), ROUND) for v in row] for row in grid.z],
        }
    return made


def _ranges(found: Study) -> dict[str, Any]:
    from holders.design.held.film_ranges import range_study

    spread = range_study(found.job.base, found.job.preset, found.film)
    if spread is None:
        return {"ranges": None}
    return {
        "ranges": {
            name: {"low": rounded(s.low), "median": rounded(s.median), "high": rounded(s.high)}
            for name, s in (
                ("max_sag", spread.max_sag_mm),
                ("max_rise", spread.max_rise_mm),
                ("min_gap", spread.min_gap_mm),
                ("in_band_fraction", spread.in_band_fraction),
                ("best_ledge_height", spread.best_ledge_height_mm),
            )
        }
        | {"worst_case": spread.worst.described, "cases": spread.cases, "unsolved": spread.unsolved}
    }


def _tell(found: Study) -> None:
    from holders.design.held.film_ranges import comparison, range_study, ring_words

    console, film, sag = show.out(), found.film, found.film.sag
    assert sag is not None
    console.print(f"[bold]{escape(found.design.title)}[/]")
    console.print(f"[bold]{escape(found.verdict.text)}[/]\n")
    rows = [] if not found.job.kinds else [("film", f"{found.job.film_called}, {_numbers(found)}")]
    rows += [
        ("sags below the ledge", f"{sag.max_mm:.2f} mm at most, {_mean(sag.mean_mm)}"),
        ("nearest to the glass", f"{sag.min_gap_mm:.2f} mm (minimum {film.least_gap_mm:.2f} mm: rings, dust)"),
        ("in focus, all heights as planned", f"{100 * sag.in_band_fraction:.1f} % of the picture"),
        ("in focus, ledge at focus height", f"{100 * (sag.focus_fraction or 0):.1f} %"),
        ("best ledge, feet included", f"{film.best_ledge_mm:.2f} mm above the glass"),
        ("rings at the scanner's glass" if found.design.seen_above_mm else "rings", ring_words(found.job, film)),
    ]  # fmt: skip
    if sag.lid is not None:
        rows.append((f"{found.design.on_film.brief} on it", lid_words(sag.lid, found.design.on_film.on_film)))
    if film.surface is not None:
        rows.append(("shape", _branch(film.surface)))
    spread = range_study(found.job.base, found.job.preset, film)
    if spread is not None:
        rows += [
            ("if film differs: sag", f"{spread.max_sag_mm.low:.2f} to {spread.max_sag_mm.high:.2f} mm"),
            ("if film differs: in focus", _percent(spread.in_band_fraction.low, spread.in_band_fraction.high)),
            ("if film differs: best ledge",
             f"{spread.best_ledge_height_mm.low:.2f} to {spread.best_ledge_height_mm.high:.2f} mm"),
            ("worst sensible case", spread.worst.described),
        ]  # fmt: skip
    rows += warm_rows(found.job, found.design)
    if film.grid is not None:
        rows.append(("computed by", film.grid.method))
    console.print(show.grid(rows))
    table = comparison(found.job.base, found.film)
    if table:
        told, notes = footnoted(table)
        console.print(
            show.table("The same film held in other ways, each with its own best ledge; mm", _COLUMNS, told)
        )
        console.print(show.grid(notes))


def _numbers(found: Study) -> str:
    """The windows of the film that is looked at."""
    each = ", ".join(str(number) for number, _ in found.design.numbered)
    return f"window{'s' * (len(found.design.numbered) > 1)} {each}; --window N chooses another"


def _mean(hangs_mm: float) -> str:
    where = "below" if hangs_mm >= 0 else "above"
    return f"{abs(hangs_mm):.2f} mm {where} it on average"


_COLUMNS = ("held by", "emulsion", "sags", "bows", "sharp", "ledge", "gap", "shape")


def footnoted(rows: Sequence[Sequence[str]]) -> tuple[list[tuple[str, ...]], list[tuple[str, str]]]:
    """Rows whose last cell, a sentence, is a letter instead, and what the letters mean: narrow on any terminal."""
    notes = {note: ascii_lowercase[k] for k, note in enumerate(dict.fromkeys(row[-1] for row in rows))}
    return [(*row[:-1], notes[row[-1]]) for row in rows], [(mark, note) for note, mark in notes.items()]


def _percent(low: float, high: float) -> str:
    return f"{100 * low:.0f} to {100 * high:.0f} % of the picture"


def _branch(surface: Any) -> str:
    from holders.film.compare import branch_note

    others = [b.name for b in surface.other_branches]
    return branch_note(surface.branch.name, others, surface.within_theory, surface.branch.mirrored)


def _tag(found: Study) -> str:
    return f"-{found.job.film_tag}" if found.job.kinds else ""


def _draw(found: Study, out: Path) -> Path:
    from holders.output.bundle.write import write_one
    from holders.output.draw.film import film_sheet

    picture = film_sheet(found.design, found.film, verdict=found.verdict.text)
    return write_one(out, f"{found.design.slug}-film{_tag(found)}.svg", picture)
