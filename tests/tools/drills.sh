#!/usr/bin/env bash
# Drills of one's own: checked without a compiler, and a training with them.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0 check "$SOURCE/scenarios/drills/02_who_is_deaf.toml"
grep -q '^DRILL HOLDS' out || fail "a shipped drill: $(head -n 1 out)"
grep -q 'press I/O: safe-state, time-expectation; receives 100 a second' out || fail "what it shows: $(cat out)"
run 0 check "$SOURCE/scenarios/drills"
[ "$(grep -c '^    holds ' out)" -ge "$(ls "$SOURCE"/scenarios/drills/[0-9]*.toml | wc -l)" ] || fail "a folder: $(cat out)"
grep -q '^    holds .*, variant 1: ' out || fail "variants are not looked at: $(cat out)"

# as scenarios/drills/README.md says
mkdir mine
cp -r "$SOURCE/scenarios/drills/actions.toml" "$SOURCE/scenarios/drills/plants" "$SOURCE/scenarios/profiles" mine/
cp "$SOURCE"/scenarios/drills/0[1-7]*.toml mine/
run 0 check mine

# promises that are not kept are named with line, key and mend
sed -i 's/^request = false/request = true/; s/state = "safe-state", receives = true/state = "running", receives = true/' \
    mine/02_who_is_deaf.toml
run 1 check mine/02_who_is_deaf.toml
line=$(grep -n '^request' mine/02_who_is_deaf.toml | cut -d: -f1)
grep -q '^PROMISES BROKEN' out || fail "a broken drill: $(head -n 1 out)"
tr '\n' ' ' <out | tr -s ' ' | grep -q "mine/02_who_is_deaf.toml:$line: expect.request: an acknowledgement is not asked for" ||
    fail "the promise of a request: $(cat out)"
tr '\n' ' ' <out | tr -s ' ' | grep -q 'or the promise: state = "safe-state"' || fail "its mend: $(cat out)"
run 1 check mine --json
/usr/bin/python3 - <<'PYTHON' || fail "the document"
import json
told = json.load(open("out"))
assert told["kind"] == "drill" and not told["ok"] and len({one["number"] for one in told["drills"]}) == 7, told
broken = [one for one in told["drills"] if not one["ok"]]
assert {one["number"] for one in broken} == {2} and broken[0]["variant"] == 0, broken
kept = {one["key"]: one["kept"] for one in broken[0]["promises"]}
assert kept["expect.request"] is False and kept["expect.device.state"] is False and kept["expect.moves"] is True, kept
PYTHON

# bad input: one line each
run 2 check mine/actions.toml;                 one_line '^mine/actions.toml: '
sed 's/^title/titel/' mine/03_parrot.toml >mine/24_mine.toml
run 2 check mine/24_mine.toml;                 one_line '^mine/24_mine.toml:[0-9]*: titel: '
rm mine/24_mine.toml
run 2 train --drills nothere;                  one_line '^nothere: is no folder'
mkdir empty
run 2 train --drills empty;                    one_line '^empty/actions.toml: is missing'
cp mine/actions.toml empty/
run 2 train --drills empty;                    one_line '^empty: holds no drill'
run 2 train --seed 3;                          one_line '.*--seed: does nothing in train'

# a training names what is broken, and goes on without it in exams
/usr/bin/python3 -B - "$LINKDRILL" <<'PYTHON' || fail "a training with drills of one's own"
import re, signal, subprocess, sys, json, http.client
server = subprocess.Popen([sys.argv[1], "train", "--port", "0", "--drills", "mine"], text=True, stdout=subprocess.PIPE)
try:
    lines = [server.stdout.readline() for _ in range(6)]
    assert lines[0].startswith("Broken     drill 2, ") and "linkdrill check mine/02" in lines[0], lines
    assert "7 drills" in lines[1], lines
    assert any(line.startswith("Drills     mine") for line in lines), lines
    port = int(re.search(r"127\.0\.0\.1:(\d+)", lines[1]).group(1))
    secret = re.search(r"#([0-9a-f]{32})", lines[2]).group(1)
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("GET", "/api/instructor/room", headers={"X-Token": secret})
    room = json.loads(connection.getresponse().read())
    assert [one["drill"] for one in room["broken_drills"]] == [2], room
finally:
    server.send_signal(signal.SIGINT)
    server.wait(timeout=20)
PYTHON
finish
