"""How ledge, sag and picture add up, in one sentence beside where the scanner is sharpest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from holders.design.model import HEIGHT_CELLS
from holders.workshop.budget.framed import framed
from holders.workshop.budget.middle import Middle, middle

if TYPE_CHECKING:
    from holders.study import Study

PICTURE = "so the picture lies"  # the name of the sentence's row
SMALL_MM = 0.005  # less is not printed


def adding_words(study: Study) -> str:
    """The sum in words: "ledge 3.50 - 0.36 film sag - 0.03 frame sag = 3.11 mm above the glass; sharpest at 3.10"."""
    job, design = study.job, study.design
    found = middle(design, framed(job, design, HEIGHT_CELLS))
    seen = "seen through the glass" if job.on_glass is not None else "seen through the base"
    if job.film.kind == "mount":
        seen = "inside the mount"
    terms = [(name, round(value, 2)) for name, value in _terms(found, seen) if abs(value) >= SMALL_MM]
    height = round(found.height_mm, 2)
    ledge = round(found.ledge_mm, 2)
    left = round(height - ledge - sum(value for _, value in terms), 2)  # hundredths lost in rounding
    if terms and left:
        most = max(range(len(terms)), key=lambda k: abs(terms[k][1]))
        terms[most] = (terms[most][0], round(terms[most][1] + left, 2))
    elif left:
        ledge = height
    each = "".join(f" {'-' if value < 0 else '+'} {abs(value):.2f} {name}" for name, value in terms)
    focus = f"sharpest at {design.heights.focus:.2f}"
    return f"ledge {ledge:.2f}{each} = {height:.2f} mm above the glass on average; {focus}"


def _terms(found: Middle, seen: str) -> list[tuple[str, float]]:
    """What is added to the ledge, by name, mm; ``seen`` names what the optics add."""
    film = "film sag" if found.sag_mm >= 0 else "film bow"
    return [
        (seen, found.optics_mm),
        (film, -found.sag_mm),
        ("frame sag", -found.frame_sag_mm),
        ("half of the frame's warm bow", found.bow_mm / 2),
    ]
