"""The list of checks for people: what each looks at, why, and where the rule comes from."""

from __future__ import annotations

from holders.checks.rules import RULES


def rows() -> tuple[dict[str, str], ...]:
    """Every check with its code, title, why and source, in the order in which it runs."""
    return tuple({"code": r.code, "title": r.title, "why": r.why, "source": r.source} for r in RULES)


def markdown() -> str:
    """The same list as a table in Markdown."""
    lines = ["| check | looks at | why | source |", "|---|---|---|---|"]
    for row in rows():
        lines.append(
            f"| `{row['code']}` | " + " | ".join(_cell(row[key]) for key in ("title", "why", "source")) + " |"
        )
    return "\n".join(lines)


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")
