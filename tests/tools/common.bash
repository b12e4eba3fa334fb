# What the shell tests of the program share. Sourced, not run.
set -u
: "${LINKDRILL:?the program to test}" "${SOURCE:?the root of the repository}"
good=$SOURCE/scenarios/veneer_press/all_errors.toml
differ=$SOURCE/scenarios/glass_table/four_settings_differ.toml
profile=$SOURCE/scenarios/profiles/crc32_carried.toml
work=$(mktemp -d)
trap 'chmod -R u+rwx "$work"; rm -rf "$work"' EXIT
cd "$work" || exit 1
failures=0

fail() {
    echo "FAILED: $*"
    failures=$((failures + 1))
}

# run STATUS ARGUMENTS...: the program must end with STATUS; leaves its output in $work/out and $work/err.
run() {
    local expected=$1 status=0
    shift
    "$LINKDRILL" "$@" >"$work/out" 2>"$work/err" || status=$?
    [ "$status" = "$expected" ] || fail "status $status, not $expected: linkdrill $*"$'\n'"$(cat "$work/err")"
}

# one_line PATTERN: standard error is one line that matches.
one_line() {
    [ "$(wc -l <"$work/err")" = 1 ] || fail "not one line on standard error: $(cat "$work/err")"
    grep -Eq -- "$1" "$work/err" || fail "standard error lacks '$1': $(cat "$work/err")"
}

# has TEXT, has_not TEXT: standard output, however its lines are wrapped.
has() { tr -s ' \n' '  ' <"$work/out" | grep -qF -- "$1" || fail "lacks '$1': $(cat "$work/out")"; }
has_not() { ! tr -s ' \n' '  ' <"$work/out" | grep -qF -- "$1" || fail "has '$1': $(cat "$work/out")"; }

# holds EXPRESSION: standard output is one JSON document d, and the expression is true of it.
holds() {
    /usr/bin/python3 - "$1" "$work/out" <<'PYTHON' || fail "$1: $(head -c 900 "$work/out")"
import json, sys
d = json.load(open(sys.argv[2]))
sys.exit(0 if eval(sys.argv[1]) else 1)
PYTHON
}

finish() {
    [ "$failures" = 0 ] && echo "all as it should be"
    exit $((failures > 0))
}
