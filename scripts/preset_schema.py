"""Write the JSON Schema of preset files for editors to presets/preset.schema.json; ``--check`` reports drift."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from holders.preset.schema import Preset

TARGET = Path(__file__).resolve().parent.parent / "presets" / "preset.schema.json"


def text() -> str:
    """The schema as stable text."""
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **Preset.model_json_schema()}
    return json.dumps(schema, indent=1, sort_keys=True) + "\n"


def main() -> int:
    """Write, or with ``--check`` compare (exit 1 on drift)."""
    if "--check" in sys.argv[1:]:
        same = TARGET.exists() and TARGET.read_text(encoding="utf-8") == text()
        if not same:
            print(f"{TARGET} is out of date: run scripts/preset_schema.py", file=sys.stderr)
        return 0 if same else 1
    TARGET.write_text(text(), encoding="utf-8")
    print(f"wrote {TARGET}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
