#!/bin/sh
# Linux: double-click (and choose "run in a terminal"), or start it in a terminal. Tried on Debian.
exec sh "$(dirname "$0")/scripts/open_page.sh"
