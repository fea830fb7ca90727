"""Write the locked requirements: every package that holders needs, with the hashes of its files, for all systems.

    python scripts/lock.py              keep the locked versions, add what pyproject.toml newly asks for
    python scripts/lock.py --upgrade    take the newest versions that pyproject.toml allows

Writes ``requirements.txt`` (to run holders) and ``requirements-dev.txt`` (also to test it, in the same versions). Needs
the resolver ``uv`` (``pip install uv``) and the network; the hashes are those of the files on PyPI.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
INDEX = "https://pypi.org/simple"
HEAD = """\
# Locked by scripts/lock.py: one file for Linux, macOS and Windows and for Python {bound}.
# Installed by scripts/set_up.py, which checks every hash: what it takes to {what}, and the setuptools that build it.
"""


def compiled(target: Path, extra: tuple[str, ...], upgrade: bool) -> None:
    """Resolve pyproject.toml, with some options of the resolver, into ``target``."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    bound = project["project"]["requires-python"]
    build = "\n".join(project["build-system"]["requires"])
    command = [
        sys.executable, "-m", "uv", "pip", "compile", "--quiet", "--no-config", "--universal", "--generate-hashes",
        "--no-header", "--no-annotate", "--default-index", INDEX, "--python-version", first_of(bound), *extra,
        *(["--upgrade"] if upgrade else []), "--output-file", str(target), "pyproject.toml", "-",
    ]  # fmt: skip
    done = subprocess.run(command, input=build, text=True, cwd=ROOT, check=False, stdout=subprocess.DEVNULL)
    if done.returncode:
        raise SystemExit("nothing was locked; is uv installed (pip install uv) and the network there?")
    locked = "".join(line for line in target.read_text().splitlines(True) if not line.startswith("#"))
    what = "test it" if extra else "run it"
    target.write_text(HEAD.format(bound=bound, what=what) + locked, encoding="utf-8")


def first_of(bound: str) -> str:
    """The oldest Python of a bound such as ``>=3.11,<3.15``."""
    found = re.search(r">=\s*(\d+\.\d+)", bound)
    if found is None:
        raise SystemExit(f"requires-python names no oldest version: {bound}")
    return found[1]


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--upgrade", action="store_true", help="take the newest versions that are allowed")
    upgrade = given.parse_args().upgrade
    run = ROOT / "requirements.txt"
    compiled(run, (), upgrade)
    compiled(ROOT / "requirements-dev.txt", ("--extra", "dev", "--constraint", str(run)), upgrade)


if __name__ == "__main__":
    main()
