#!/usr/bin/env bash
# The desk without a browser: what its page asks for, and what strangers try.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
/usr/bin/python3 -B "$SOURCE/tests/tools/desk_day.py" "$LINKDRILL" "$SOURCE" >day.txt 2>&1 ||
    fail "a day at the desk: $(head -n 20 day.txt)"
"$LINKDRILL" desk none.toml --no-open >out.txt 2>&1 && fail 'a file that is not there is opened'
grep -q 'none.toml' out.txt || fail "what is missing is not named: $(cat out.txt)"
"$LINKDRILL" desk --folder "$PWD/nowhere" --no-open >out.txt 2>&1 && fail 'a folder that is not there is opened'
"$LINKDRILL" desk --port 70000 >out.txt 2>&1
[ $? = 2 ] || fail 'a port that is none'
finish
