#!/bin/bash
# A bad input file: exit status 2, exactly one line on standard error that names file, line and key, nothing on standard
# output, and with --json a document {"error": {...}} there. Needs LINKDRILL (the program) and SOURCE (the repository).
set -u
: "${LINKDRILL:?path of the program}" "${SOURCE:?path of the repository}"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cp -r "$SOURCE/scenarios/profiles" "$folder/"
good="$SOURCE/scenarios/veneer_press/all_errors.toml"
failures=0
checks=0

fail() {
    echo "FAIL $1"
    failures=$((failures + 1))
}

# expect NAME START-OF-LINE PART: runs check on $folder/NAME
expect() {
    local path="$folder/$1" start="$folder/$2" part="$3" status
    checks=$((checks + 1))
    timeout 10 "$LINKDRILL" check "$path" >"$folder/out" 2>"$folder/err"
    status=$?
    [ "$status" = 2 ] || fail "$1: status $status, not 2"
    [ "$(wc -l <"$folder/err")" = 1 ] || fail "$1: not one line on standard error: $(cat "$folder/err")"
    [ -s "$folder/out" ] && fail "$1: something on standard output"
    case "$(cat "$folder/err")" in
        "$start"*) ;;
        *) fail "$1: does not begin with $start: $(cat "$folder/err")" ;;
    esac
    grep -qF -- "$part" "$folder/err" || fail "$1: lacks '$part': $(cat "$folder/err")"
    timeout 10 "$LINKDRILL" check --json "$path" >"$folder/out" 2>/dev/null
    status=$?
    [ "$status" = 2 ] || fail "$1 --json: status $status, not 2"
    /usr/bin/python3 -c '
import json, sys
error = json.load(open(sys.argv[1]))["error"]
assert set(error) >= {"file", "line", "key", "message"}, error
assert error["file"].startswith(sys.argv[2]) and error["message"], error
' "$folder/out" "$folder" || fail "$1 --json: $(cat "$folder/out")"
}

# edited NAME SED-EXPRESSION: a copy of the good file with one thing wrong
edited() {
    sed "$2" "$good" >"$folder/$1"
    cmp -s "$good" "$folder/$1" && fail "$1: the edit changed nothing"
}

line() { grep -nF -- "$2" "$folder/$1" | head -1 | cut -d: -f1; }

expect missing.toml missing.toml: "no such file"
mkdir "$folder/a_folder"
expect a_folder a_folder: "is a folder"
: >"$folder/empty.toml"
expect empty.toml empty.toml: "is empty"
head -c 100000 /dev/zero >"$folder/zeros.toml"
expect zeros.toml zeros.toml: "is not text (byte 0 is 0x00)"
truncate -s 1G "$folder/huge.toml"
expect huge.toml huge.toml: "is not text"
printf 'title = "b\xe4r"\n' >"$folder/latin.toml"
expect latin.toml latin.toml:1: "is not UTF-8"
mkfifo "$folder/pipe.toml"
expect pipe.toml pipe.toml: "is no regular file"

edited unit.toml 's/^watchdog = .*/watchdog = "45"/'
expect unit.toml "unit.toml:$(line unit.toml 'watchdog = "45"'): link.watchdog:" '"45" has no unit; write "45 ms"'
edited key.toml 's/^watchdog = /wachdog = /'
expect key.toml "key.toml:$(line key.toml wachdog): link.wachdog:" 'did you mean "watchdog"?'
edited negative.toml 's/^watchdog = .*/watchdog = "-45 ms"/'
expect negative.toml "negative.toml:$(line negative.toml -45): link.watchdog:" "is negative"
edited short.toml 's/^watchdog = .*/watchdog = "8 ms"/'
expect short.toml "short.toml:$(line short.toml '"8 ms"'): link.watchdog:" 'write "20 ms" or more'
edited wide.toml 's/^address = "0x0021"/address = "0x10021"/'
expect wide.toml "wide.toml:$(line wide.toml 0x10021): device.address:" "too wide for crc32_carried; write 0x0 to 0xFFFF"
edited equal.toml 's/^address = "0x0021"/address = "0x0010"/'
expect equal.toml equal.toml: "both ends have the address"
edited late.toml 's/^at = "20 s"/at = "22 s"/'
expect late.toml "late.toml:$(line late.toml 'at = "22 s"'): fault[10].at:" "after the end of the run"
edited profile.toml 's/^profile = .*/profile = "crc32_carryed"/'
expect profile.toml "profile.toml:$(line profile.toml crc32_carryed): link.profile:" 'nearest is "crc32_carried"'
edited syntax.toml 's/^seed = .*/seed = = 7/'
expect syntax.toml "syntax.toml:$(line syntax.toml '= = 7'):" "scenarios/README.md"
sed 's/^crc = .*/crc = "none"/' "$SOURCE/scenarios/profiles/crc32_carried.toml" >"$folder/none.toml"
expect none.toml "none.toml:$(line none.toml none\"): crc:" "exists only in the comparison of measures"

echo "$checks checks, $failures failures"
[ "$failures" = 0 ] && [ "$checks" -gt 0 ]
