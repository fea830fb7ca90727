#!/bin/sh
# macOS: double-click; if it is refused the first time, right-click it and choose Open.
# Not tried on macOS: it is the Linux script, which was.
exec sh "$(dirname "$0")/scripts/open_page.sh"
