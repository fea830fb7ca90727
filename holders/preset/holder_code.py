"""A holder's own short code: what was asked for and the bed it is for, so that a part is known years later."""

from __future__ import annotations

import base64
import hashlib
import json

from holders.preset.resolve import Job

FIRST_VERSION = 2  # when holders first had codes; a later version of the file gives no holder another code
# keys that came later, with what every holder had until then: as if never written where it still is so
LATER = (("carrier", "corner", "slanted"), ("feet", "form", "round"))
# keys that change nothing of the part itself: a holder keeps its code whatever they say
NOT_OF_THE_PART = (("room", "scan_ppi"),)
LENGTH = 5  # of 32 signs each: among 100 holders two are alike once in 6800


def holder_code(job: Job) -> str:
    """Five letters and digits from the preset (not title, note, what is only supposed) and the bed's measurements.

    Alike for the same holder made again, whatever the preset's comments and layout; what is usual may be said or left
    out.
    """
    plain = job.whole_preset.model_copy(update={"title": "", "note": "", "supposed": ()})
    asked = plain.model_dump(mode="json", exclude_defaults=True)
    asked["holders_preset"] = FIRST_VERSION
    whole = plain.model_dump(mode="json")
    for table, key, before in LATER:
        if whole.get(table):
            asked.setdefault(table, {})[key] = whole[table][key]
            if whole[table][key] == before:
                del asked[table][key]
    for table, key in NOT_OF_THE_PART:
        if asked.get(table, {}).pop(key, None) is not None and not asked[table]:
            del asked[table]
    text = json.dumps(asked, sort_keys=True) + job.bed.model_dump_json(exclude={"sources"})
    return base64.b32encode(hashlib.sha256(text.encode()).digest()).decode()[:LENGTH]
