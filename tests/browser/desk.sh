#!/usr/bin/env bash
# The desk in Chromium: an engineer's day, from a template to a file that was rehearsed.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
modules=$(dirname -- "$LINKDRILL")/browser
pictures=${PICTURES:-$(dirname -- "$LINKDRILL")/pictures}
mkdir -p "$pictures"
"$SOURCE/tests/browser/setup" "$modules" || { fail "the driver of the browser is missing"; finish; }

# a shell starts what is in the background without Ctrl-C; python does not
/usr/bin/python3 -B "$SOURCE/tests/browser/desk.py" "$LINKDRILL" node "$SOURCE/tests/browser/desk.mjs" \
    "$modules" "$pictures" >browser.txt 2>&1 || fail "in the browser: $(head -n 30 browser.txt)"
grep 'checks in the browser' browser.txt || fail "the browser's checks did not come to their end"
finish
