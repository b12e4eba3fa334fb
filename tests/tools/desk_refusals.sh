#!/usr/bin/env bash
# Each kind of refusal that the desk knows, provoked, and its button pressed.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
/usr/bin/python3 -B "$SOURCE/tests/tools/desk_refusals.py" "$LINKDRILL" "$SOURCE" >refusals.txt 2>&1 ||
    fail "a refusal without its mend: $(head -n 40 refusals.txt)"
grep -q 'kinds of refusal' refusals.txt || fail "not all kinds were tried: $(tail -n 5 refusals.txt)"
finish
