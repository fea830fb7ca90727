"""The preset file format, version 2: the plain keys with a table for every fitting between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import create_model

from holders.fittings.registry import FITTINGS
from holders.preset.tables.plain import FORMAT_VERSION, FirstKeys, PlainPreset

__all__ = ["FORMAT_VERSION", "Preset"]

if TYPE_CHECKING:

    class Preset(PlainPreset):
        """A whole preset. A fitting's table is looked up by :func:`holders.preset.tables.plain.table_of`."""

else:
    _tables: dict[str, Any] = {
        kind.key: (Annotated[kind.table | None, kind.section], None) for kind in FITTINGS
    }
    _Fitted = create_model("_Fitted", __base__=FirstKeys, __module__=__name__, **_tables)
    Preset = create_model(
        "Preset",
        __base__=(PlainPreset, _Fitted),  # keys in the order of a file: opening, fittings, closing
        __module__=__name__,
        __doc__="A holder as its photographer wants it: bed, film, route, material, lip, feet, fittings, layout.",
    )
