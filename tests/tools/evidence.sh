#!/usr/bin/env bash
# The evidence: whole or not there, nobody else's files touched, readable by others' tools.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
here=$(dirname -- "$(realpath -- "${BASH_SOURCE[0]}")")

names=$'.linkdrill\nacceptance.json\nacceptance_sheet.html\nacceptance_sheet.md\ncapture.pcapng\ndemands.csv\ninjections.csv\njunit.xml\nlink_sheet.html\nlink_sheet.md\nplant.json\nreport.html\nresult.json\nsummary.txt\ntimeline.json'
run 0 run "$good"
[ "$(ls -A linkdrill-out/all_errors)" = "$names" ] || fail "evidence: $(ls -A linkdrill-out/all_errors)"
cmp -s linkdrill-out/all_errors/summary.txt out || fail "summary.txt is not what was printed"
run 0 run "$good" --out again/and/deeper
run 0 run "$good" --out again/and/deeper
mkdir empty
run 0 run "$good" --out empty

# Somebody else's folder, or file.
mkdir foreign && echo mine >foreign/result.json
run 3 run "$good" --out foreign; one_line '^foreign: holds files that linkdrill did not write'
[ "$(cat foreign/result.json)" = mine ] && [ "$(ls -A foreign)" = result.json ] || fail "a foreign folder was touched"
: >file
run 3 run "$good" --out file;       one_line '^file: '
run 3 run "$good" --out file/below; one_line '^file/below: '
# What a person put beside linkdrill's files stays.
echo note >linkdrill-out/all_errors/note.txt
run 0 run "$good"
[ "$(cat linkdrill-out/all_errors/note.txt)" = note ] || fail "a note is gone"
rm linkdrill-out/all_errors/note.txt

# A full disk, played by a limit on the size of files: the old evidence stays, and nothing half-written beside it.
before=$(cd linkdrill-out/all_errors && cat ./* | cksum)
status=0
(ulimit -f 1; exec "$LINKDRILL" run "$good") >out 2>err || status=$?
[ "$status" = 3 ] || fail "over the size limit: status $status"
one_line '; make room, or give --out'
[ "$(ls -A linkdrill-out/all_errors)" = "$names" ] || fail "left behind: $(ls -A linkdrill-out/all_errors)"
[ "$(cd linkdrill-out/all_errors && cat ./* | cksum)" = "$before" ] || fail "the old evidence was touched"

for arguments in "run $good --out full" "check $good" "check $good --json" "--help" "crc --list"; do
    status=0
    # shellcheck disable=SC2086 # the words are meant to be split
    "$LINKDRILL" $arguments >/dev/full 2>err || status=$?
    [ "$status" = 3 ] || fail "status $status with a full disk behind standard output: $arguments"
    one_line '^standard output: '
done
run 3 run "$good" --out logged --log file/a.log; one_line '^file/a.log: '
run 3 run "$good" --out logged --log /dev/full;     one_line '^/dev/full: '

# Two at once: both end well, and what is left is whole and of one of them.
for round in 1 2 3 4 5; do
    "$LINKDRILL" run "$good" --seed 1 --out both --quiet >one & first=$!
    "$LINKDRILL" run "$good" --seed 2 --out both --quiet >two & second=$!
    wait $first || fail "first of two, round $round"
    wait $second || fail "second of two, round $round"
    [ "$(ls -A both)" = "$names" ] || fail "after two at once: $(ls -A both)"
    seed=$(grep -o '"seed": [12]' both/result.json | tail -c 2)
    grep -q -- "--seed $seed\$" both/summary.txt || fail "two runs mixed: summary.txt and result.json"
    grep -q "name=\"seed\" value=\"$seed\"" both/junit.xml || fail "two runs mixed: junit.xml and result.json"
done

# Others' readers. Titles may hold anything.
cp -r "$SOURCE/scenarios/profiles" .
sed 's/^title.*/title = "A <b> \& \\"c\\" \\u001B[31m =1+1"/' "$good" >hostile.toml
for scenario in "$good" "$differ" hostile.toml; do
    "$LINKDRILL" run "$scenario" --out read >out 2>err || [ $? = 1 ] || fail "$scenario: $(cat err)"
    xmllint --noout --schema "$here/junit.xsd" read/junit.xml 2>err || fail "junit.xml of $scenario: $(cat err)"
    grep -q $'\e' out && fail "an escape character came through to the terminal"
    [ "$(wc -L <read/summary.txt)" -le 100 ] || fail "summary.txt is too wide"
    LC_ALL=C grep -q '[^ -~]' read/summary.txt && fail "summary.txt is not ASCII"
    /usr/bin/python3 - <<'PYTHON' || fail "injections.csv of $scenario"
import csv, json
run = json.load(open("read/result.json"))
rows = list(csv.reader(open("read/injections.csv", newline="")))
assert len(rows) == 1 + len(run["injections"]), rows
assert all(len(row) == len(rows[0]) for row in rows)
assert "at (ms)" in rows[0] and "safe_state device (ms)" in rows[0]
for row, injection in zip(rows[1:], run["injections"]):
    cells = dict(zip(rows[0], row))
    assert cells["outcome"] == injection["outcome"]
    assert injection["at_ms"] is None or float(cells["at (ms)"]) == injection["at_ms"]
    assert not any(cell[:1] in "=+@" for cell in row if cell)
hops = [(demand, hop) for demand in run["demands"] for hop in demand["hops"] or [None]]
rows = list(csv.reader(open("read/demands.csv", newline="")))
assert len(rows) == 1 + len(hops), rows
for row, (demand, hop) in zip(rows[1:], hops):
    cells = dict(zip(rows[0], row))
    assert len(row) == len(rows[0]) and cells["safeguard"] == demand["safeguard"]
    assert float(cells["contact (ms)"]) == demand["contact_ms"]
    assert hop is None or cells["signal"] == hop["signal"]
PYTHON
done
finish
