"""Set holders up in a folder of its own, from the locked requirements, every hash checked. Standard library only.

    python scripts/set_up.py              to run it
    python scripts/set_up.py --dev        also to test it
    python scripts/set_up.py --ask        as the files to double-click do: says what will happen and waits

Works on Linux, macOS and Windows. What was set up already is left alone until the locked requirements change.
"""

import argparse
import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OLDEST, NEWEST = (3, 11), (3, 14)
# measured on Linux with Python 3.11; other systems differ by some tenths
SIZES = {
    "run": "it downloads about 510 MB and takes about 1950 MB there",
    "dev": "with what the tests need it takes about 2360 MB there",
}
NO_WHEEL = "rectpack"  # the one dependency without a wheel; plain Python, built here by the locked setuptools


class Failed(Exception):
    """What went wrong, in words for the user."""


def main():
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--venv", type=Path, default=ROOT / ".venv", help="the folder; default: .venv")
    given.add_argument("--dev", action="store_true", help="also what the tests need")
    given.add_argument("--ask", action="store_true", help="say what will happen and wait for Enter")
    given.add_argument("--quiet", action="store_true", help="say only what is wrong")
    options = given.parse_args()
    try:
        set_up(options.venv, "dev" if options.dev else "run", options.ask, options.quiet)
    except Failed as error:
        print(f"holders: {error}", file=sys.stderr)
        sys.exit(3)
    except KeyboardInterrupt:
        print("\nholders: stopped; start again, and it goes on where it was", file=sys.stderr)
        sys.exit(130)


def set_up(folder, kind, ask, quiet):
    """Make the environment and install, unless this very state is there."""
    if not OLDEST <= sys.version_info[:2] <= NEWEST:
        raise Failed(
            "needs Python {}.{} to {}.{}; this is {}.{}: install one of them and start it with that".format(
                *OLDEST, *NEWEST, *sys.version_info[:2]
            )
        )
    lock = ROOT / ("requirements-dev.txt" if kind == "dev" else "requirements.txt")
    stamp, state = folder / f".holders-{kind}", state_of(lock)
    if python_of(folder).exists() and stamp.exists() and stamp.read_text() == state:
        return
    if not quiet:
        print(
            f"holders is set up in {folder}: {SIZES[kind]}, mostly the CAD kernel.\n"
            "Everything comes from the Python package index, and each file is checked against its locked hash.\n"
            "To undo it, delete that folder.",
            flush=True,
        )
    if ask:
        input("Press Enter to begin, or close this window. ")
    made(folder)
    install(python_of(folder), lock, quiet)
    stamp.write_text(state)
    if not quiet:
        print("holders is set up.", flush=True)


def state_of(lock):
    """What is to be installed, as a hash: requirements, the project's own table, the place it is installed from."""
    found = hashlib.sha256(str(ROOT).encode())
    for path in (lock, ROOT / "pyproject.toml"):
        found.update(path.read_bytes())
    return found.hexdigest()


def python_of(folder):
    """The environment's Python."""
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def made(folder):
    """Make the environment where there is none."""
    if python_of(folder).exists():
        return
    try:
        venv.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(folder)
    except (OSError, subprocess.CalledProcessError) as error:
        shutil.rmtree(folder, ignore_errors=True)
        raise Failed(
            f"Python cannot make a virtual environment ({error}); on Debian or Ubuntu: sudo apt install python3-venv"
        ) from None


def install(python, lock, quiet):
    """The build's setuptools, then all other requirements by hash, then the project alone."""
    with tempfile.TemporaryDirectory() as room:
        first = Path(room) / "build.txt"
        first.write_text(block_of("setuptools", lock.read_text(encoding="utf-8")), encoding="utf-8")
        hashed = ["--require-hashes", "--no-deps", "--only-binary", ":all:"]
        pip(python, quiet, *hashed, "-r", str(first))
        pip(python, quiet, *hashed, "--no-binary", NO_WHEEL, "--no-build-isolation", "-r", str(lock))
    pip(python, quiet, "--no-deps", "--no-build-isolation", "--no-index", "-e", str(ROOT))


def block_of(name, text):
    """The lines of one requirement and its hashes."""
    found = re.search(rf"^{re.escape(name)}==.*?(?=^\S|\Z)", text, re.MULTILINE | re.DOTALL)
    if found is None:
        raise Failed(f"{name} is missing from the locked requirements")
    return found[0]


def pip(python, quiet, *what):
    """One ``pip install``."""
    command = [
        str(python),
        "-m",
        "pip",
        "install",
        "--disable-pip-version-check",
        *(["-q"] if quiet else []),
        *what,
    ]
    if subprocess.run(command, check=False).returncode:
        raise Failed(
            "installing failed (see above). Without a network it cannot work; otherwise start again, "
            "it goes on where it was"
        )


if __name__ == "__main__":
    main()
