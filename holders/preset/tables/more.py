"""Further kinds of film in one holder, each with the keys of ``[film]``, how many of it, and its base."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from holders.core.limits import MOST_WINDOWS
from holders.preset.tables.rows import BaseChoice, FilmChoice
from holders.preset.words import Words

MOST_MORE = 3  # kinds beside the first: more leave each too little room to be worth a holder


class MoreFilm(FilmChoice):
    """One more kind of film in the holder, beside that of [film]: the same keys, its number, and its base."""

    count: Annotated[int, Field(ge=1, le=MOST_WINDOWS), Words("How many of it")] = Field(
        default=1, description="How many films of this kind; layout.count counts those of [film]."
    )
    base: BaseChoice = Field(
        default_factory=BaseChoice,
        description="What this film is made of: the keys of [base]. Default: the usual base of its format.",
    )
