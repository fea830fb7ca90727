"""Strips of a scan read piece by piece, and their spectra: only as much as the wanted certainty needs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.cut import Part
from holders.measure.scan.model import Pixels, Span
from holders.measure.scan.prefetch import prefetch
from holders.measure.scan.spectra import COARSE_RINGS, F32, F64, FINE_RINGS, Cells, Features, cell_power
from holders.measure.scan.view import View
from holders.measure.slope.target.placed import Placed

Progress = Callable[[str, float], None]

READ_SAMPLES = 6_000_000  # read at once: 12 MB of 16 bit
WORK_SAMPLES = 1_500_000  # turned into light at once; its spectra take several times as much
MOST_VALUES = 12_000_000  # powers kept: 48 MB
FEWEST_STRIPS = 12
FIRST_PASS_PIXELS = 4_000_000


@dataclass(frozen=True)
class Taken:
    """Spectra of strips: power (channels, strips, n, f), level and offset of the detail
    from the cell's middle in pixels (channels, strips, n), share of pixels clipped,
    and which cells (strips, n) lie in the window.
    """

    power: F32
    level: F64
    offset: F64
    clipped: float
    strips: tuple[int, ...]
    allowed: NDArray[np.bool_]

    def joined(self, more: Taken) -> Taken:
        """Both together."""
        n, m = len(self.strips), len(more.strips)
        return Taken(
            np.concatenate([self.power, more.power], axis=1),
            np.concatenate([self.level, more.level], axis=1),
            np.concatenate([self.offset, more.offset], axis=1),
            (n * self.clipped + m * more.clipped) / (n + m),
            self.strips + more.strips,
            np.concatenate([self.allowed, more.allowed]),
        )


def plan(starts: Sequence[int], view: View, part: Part, cells: Cells) -> list[list[int]]:
    """All strips worth reading, in passes: each spreads over the target, each doubles what came before.

    Strips in step with the file's rows are preferred: they lie in fewer of the pieces that a compressed file is
    decoded in. Where the slope runs down the file, each pass walks over the whole of it, and the first one takes more.
    How the file is stored has no say, so that it cannot change the answer.
    """
    wide, length = part.across[1] - part.across[0], part.along[1] - part.along[0]
    hop = cells.rows // 2
    gap = max(hop, int(np.median(np.diff(starts)))) if len(starts) > 1 else wide
    possible = range(-part.across[0] % hop, wide - cells.rows + 1, hop)
    every = [s for s in possible if any(abs(s - t) <= gap for t in starts)] or [0]
    most = int(MOST_VALUES / (cells.count(length) * (FINE_RINGS + COARSE_RINGS) * view.channels))
    if len(every) > max(most, FEWEST_STRIPS):
        every = [every[i] for i in _spread(len(every), max(most, FEWEST_STRIPS))]
    passes: list[list[int]] = []
    done: set[int] = set()
    budget = max(6 if view.by_columns else 24, FIRST_PASS_PIXELS // (length * hop))
    while len(done) < len(every):
        n = min(len(every), budget if not done else 2 * len(done))
        in_step = (
            min(every[i : i + 2], key=lambda s: (part.across[0] + s) % cells.rows != 0)
            for i in _spread(len(every), n)
        )
        at = set(in_step) - done
        at = at or set(every) - done
        passes.append(sorted(at))
        done |= at
    return passes


def _spread(count: int, n: int) -> list[int]:
    """``n`` places of ``count``, evenly."""
    return [int(i) for i in np.unique(np.linspace(0, count - 1, n).round())]


def take(
    view: View, placed: Placed, cells: Cells, features: Features, strips: list[int], tell: Progress
) -> Taken:
    """Read strips and make their spectra, a few million pixels at a time."""
    n = cells.count(placed.part.along[1] - placed.part.along[0])
    power = np.empty((view.channels, len(strips), n, features.weights.shape[1]), np.float32)
    level = np.empty((view.channels, len(strips), n))
    offset = np.empty((view.channels, len(strips), n))
    clipped = 0.0
    for at, to, data in _pieces(view, placed, cells, strips):
        starts = cells.starts(to, n)
        starts = starts[starts - starts[0] + cells.block <= data.shape[2]] - starts[0]
        count = len(starts)
        share = count / n * data.shape[0] / len(strips)
        clipped += share * float(np.count_nonzero((data >= 0.9999) | (data <= 0.0))) / data.size
        for k in range(data.shape[0]):
            for c in range(view.channels):
                spectra, mean, behind = cell_power(np.ascontiguousarray(data[k, :, :, c]), cells, starts)
                power[c, at + k, to : to + count] = spectra.reshape(count, -1) @ features.weights
                level[c, at + k, to : to + count] = mean
                offset[c, at + k, to : to + count] = behind
        tell("reading", min(1.0, (at + data.shape[0]) / len(strips) * (to + count) / n))
    return Taken(power, level, offset, clipped, tuple(strips), placed.allowed(cells, strips))


@dataclass(frozen=True)
class _Piece:
    """Rows read together: stored pixels ``raw``, of strips from number ``first_strip`` on, of cells from ``first`` on.

    ``starts`` of the cells in ``raw``, pixels; ``offsets`` (rows) and ``shifts`` (pixels along) of each strip in it.
    """

    first_strip: int
    first: int
    starts: NDArray[np.int64]
    raw: Pixels
    offsets: list[int]
    shifts: list[int]


def _reads(view: View, placed: Placed, cells: Cells, strips: list[int]) -> Iterator[_Piece]:
    """What must be decoded together, read together and once."""
    part, n = placed.part, cells.count(placed.part.along[1] - placed.part.along[0])
    # where the slope runs down the file, every strip is cut out of the same rows, read once
    groups = [(i, [s]) for i, s in enumerate(strips)] if view.by_columns else [(0, strips)]
    for i, group in groups:
        spans = _merged(group, cells.rows)
        across = [(part.across[0] + a, part.across[0] + b) for a, b in spans]
        tall = sum(b - a for a, b in spans)
        offsets = [_offset(s, spans) for s in group]
        shifts = placed.shifts(cells, group)
        slack = int(np.ptp(shifts))
        shifts -= shifts.min()
        begin = part.along[0] + int(placed.shifts(cells, group).min())
        per_read = max(1, int(READ_SAMPLES / (tall * cells.hop * view.channels)))
        for first in range(0, n, per_read):
            starts = cells.starts(first, min(n, first + per_read))
            raw = view.raw([(begin + int(starts[0]), begin + int(starts[-1]) + cells.block + slack)], across)
            yield _Piece(i, first, starts - starts[0], raw, offsets, shifts.tolist())


def _pieces(view: View, placed: Placed, cells: Cells, strips: list[int]) -> Iterator[tuple[int, int, F32]]:
    """Pieces of strips: (first strip, first place, light (strips, rows, along, channels)).

    What was read together is turned into light a little at a time.
    """
    for piece in prefetch(_reads(view, placed, cells, strips)):
        per = max(1, int(WORK_SAMPLES / (len(piece.offsets) * cells.rows * cells.hop * view.channels)))
        for k in range(0, len(piece.starts), per):
            some = piece.starts[k : k + per]
            a, length = int(some[0]), int(some[-1] - some[0]) + cells.block
            cut = [
                piece.raw[o : o + cells.rows, a + m : a + m + length]
                for o, m in zip(piece.offsets, piece.shifts, strict=True)
            ]
            yield piece.first_strip, piece.first + k, view.light(np.stack(cut))


def _merged(starts: Sequence[int], rows: int) -> list[Span]:
    """Strips of ``rows`` pixels at rising ``starts`` as spans that do not overlap."""
    spans: list[Span] = []
    for s in starts:
        if spans and s <= spans[-1][1]:
            spans[-1] = (spans[-1][0], s + rows)
        else:
            spans.append((s, s + rows))
    return spans


def _offset(start: int, spans: Sequence[Span]) -> int:
    """Where a strip begins in its merged spans laid side by side."""
    before = 0
    for a, b in spans:
        if a <= start < b:
            return before + start - a
        before += b - a
    raise AssertionError("a strip is in one of its own spans")
