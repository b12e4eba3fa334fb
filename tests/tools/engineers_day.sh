#!/usr/bin/env bash
# From a template to a complete file, and every mistake of typing found with a right mend.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
/usr/bin/python3 -B "$SOURCE/tests/tools/engineers_day.py" "$@" || fail "the engineer's day"
finish
