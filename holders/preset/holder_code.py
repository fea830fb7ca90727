"""A holder's own short code: what was asked for and the bed it is for, so that a part is known years later."""

from __future__ import annotations

import base64
import hashlib
import json

from holders.preset.resolve import Job

LENGTH = 5  # of 32 signs each: among 100 holders two are alike once in 6800


def holder_code(job: Job) -> str:
    """Five letters and digits from the preset, its title and note aside, and from the bed's measurements.

    Alike for the same holder made again, whatever the preset's comments and layout; what is usual may be said or left
    out.
    """
    plain = job.preset.model_copy(update={"title": "", "note": ""})
    asked = plain.model_dump(mode="json", exclude_defaults=True)
    text = json.dumps(asked, sort_keys=True) + job.bed.model_dump_json(exclude={"sources"})
    return base64.b32encode(hashlib.sha256(text.encode()).digest()).decode()[:LENGTH]
