"""A holder's own short code: what was asked for and the bed it is for, so that a part is known years later."""

from __future__ import annotations

import base64
import hashlib

from holders.preset.code import compact
from holders.preset.resolve import Job

LENGTH = 5  # of 32 signs each: among 100 holders two are alike once in 6800


def holder_code(job: Job) -> str:
    """Five letters and digits from the preset, its title and note aside, and from the bed's measurements.

    Alike for the same holder made again, whatever the preset's comments and layout.
    """
    plain = job.preset.model_copy(update={"title": "", "note": ""})
    text = compact(plain) + job.bed.model_dump_json(exclude={"sources"})
    return base64.b32encode(hashlib.sha256(text.encode()).digest()).decode()[:LENGTH]
