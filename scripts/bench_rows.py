"""One line of the speed report, in the form that ``bench.py`` collects."""

MARK = "| "


def row(what: str, measured: str, aim: str) -> None:
    """Print what was compared, the measured ratio, and the aim."""
    print(f"{MARK}{what} | {measured} | {aim} |", flush=True)
