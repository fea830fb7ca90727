"""``python -m holders``, and the command ``holders``."""

import sys


def run() -> None:
    """Run the command; a Ctrl-C while it loads ends it without a word."""
    try:
        from holders.face.program import run as begin  # noqa: PLC0415 - loading takes a moment, and may be interrupted

        begin()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    run()
