#!/bin/sh
# Sets holders up where that is still to be done, then opens its page: what the files to double-click call.
cd "$(dirname "$0")/.." || exit 3

pause() {
  printf 'Press Enter to close this window. '
  read -r _
}

python=
for name in python3.13 python3.12 python3.11 python3.14 python3 python; do
  if "$name" -c 'import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 14))' >/dev/null 2>&1; then
    python=$name
    break
  fi
done
if [ -z "$python" ]; then
  echo "holders needs Python 3.11, 3.12, 3.13 or 3.14, and none was found."
  echo "On Debian or Ubuntu: sudo apt install python3 python3-venv. On macOS: the installer from python.org."
  pause
  exit 3
fi

"$python" scripts/set_up.py --ask || { pause; exit 3; }
echo "The page opens in your browser. To stop it, press Ctrl-C here or close this window."
.venv/bin/holders page
code=$?
[ "$code" -eq 0 ] || [ "$code" -eq 130 ] || pause
exit "$code"
