"""``python -m holders``."""

from holders.cli.main import run

run()
