#!/usr/bin/env bash
# check of several files, of all that is wrong with one at once, and in the forms of pipelines.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cp -r "$SOURCE/scenarios/profiles" .

# told KEYS...: standard error is one line for each of these keys of five.toml, in this order, each with its line.
told() {
    local key number=0
    [ "$(wc -l <err)" = $# ] || fail "not $# lines: $(cat err)"
    for key in "$@"; do
        number=$((number + 1))
        sed -n "${number}p" err | grep -Eq "^five.toml:[0-9]+: ${key//[][]/.}: " || fail "line $number is not about $key: $(cat err)"
    done
    while IFS=': ' read -r _ line key _; do
        sed -n "${line}p" five.toml | grep -q "${key##*.}\|\[\[" || fail "line $line of five.toml is not about $key"
    done <err
}

# Five wrong keys in different sections, all at once: a unit, an unknown key, a word, a probability, a missing key.
sed -e 's/^cycle = .*/cycle = "20"/' -e 's/^braking = /brakng = /' -e '0,/^error = "loss"/s//error = "los"/' \
    -e 's/^seed = .*/seed = "x"/' "$good" >five.toml
/usr/bin/python3 - <<'PYTHON'
import re
text = open("five.toml").read()
text, changed = re.subn(r'(\[\[signal\]\]\nname = "[a-z_]*"\n)direction = .*\n', r"\1", text, count=1)
assert changed == 1
open("five.toml", "w").write(text)
PYTHON
run 2 check five.toml
told seed link.cycle 'signal[1].direction' machine.brakng 'fault[4].error'
[ -s out ] && fail "a file that cannot be read is judged: $(cat out)"
cp err alone
run 2 check five.toml --json
/usr/bin/python3 - <<'PYTHON' || fail "errors in JSON: $(cat out)"
import json
document = json.load(open("out"))
assert len(document["errors"]) == 5 and document["error"] in document["errors"], document
assert [e["line"] for e in document["errors"]] == sorted(e["line"] for e in document["errors"])
PYTHON

# What is wrong only because of something else is not told: a mistyped name of a table, of a guard, a profile that is not there.
sed 's/^\[\[safeguard\]\]/[[safegard]]/' "$good" >five.toml
run 2 check five.toml; told safegard
sed '0,/^profile = .*/s//profile = "none"/' "$good" >five.toml
run 2 check five.toml; told link.profile
sed 's/^duration = .*/duration = "20"/' "$good" >five.toml
run 2 check five.toml; told duration
/usr/bin/python3 - "$good" <<'PYTHON'
import re, sys
text = open(sys.argv[1]).read()
open("five.toml", "w").write(re.sub(r'(\[\[safeguard\]\]\n)name = ', r"\1nam = ", text))
PYTHON
run 2 check five.toml
grep -vq ': safeguard\[[0-9]*\].nam: ' err && fail "told of more than the names: $(cat err)"
# each key of every shipped scenario, mistyped: never judged, never a contract broken, and the key itself is told
/usr/bin/python3 - "$LINKDRILL" "$good" "$SOURCE/scenarios/log_debarker/guards.toml" <<'PYTHON' || fail "mistyped keys"
import re, subprocess, sys
wrong = 0
for path in sys.argv[2:]:
    lines = open(path).read().splitlines()
    for at, line in enumerate(lines):
        if not re.match(r"[a-z_]+ = ", line):
            continue
        for bent in ("x" + line, line.split(" = ")[0] + " = [[]]"):
            open("bent.toml", "w").write("\n".join([*lines[:at], bent, *lines[at + 1 :]]) + "\n")
            said = subprocess.run([sys.argv[1], "check", "bent.toml"], capture_output=True, text=True)
            first = said.stderr.splitlines()
            # the key has a table further down, or its list goes on
            if re.search("stands .*further up|as a row of a list does", said.stderr):
                continue
            if said.returncode != 2 or said.stdout or not any(l.startswith(f"bent.toml:{at + 1}: ") for l in first):
                print(path, at + 1, bent, said.returncode, first)
                wrong += 1
            elif len(first) > 1:
                print(path, at + 1, bent, "follow-ups:", *first, sep="\n  ")
                wrong += 1
sys.exit(wrong > 0)
PYTHON

# A hundred files at once: all that ship, again and again until there are so many.
mapfile -t shipped < <(find "$SOURCE/scenarios" -name '*.toml' ! -name actions.toml ! -name four_settings_differ.toml \
    ! -name swapped_bits.toml ! -name other_subnet.toml ! -name speed_bytes_exchanged.toml | sort)
many=()
while [ ${#many[@]} -lt 100 ]; do many+=("${shipped[@]}"); done
status=0
"$LINKDRILL" check "${many[@]:0:100}" --json >out 2>err || status=$?
/usr/bin/python3 - "$status" <<'PYTHON' || fail "a hundred files: $(head -c 300 out err)"
import json, sys
document = json.load(open("out"))
files = document["files"]
assert len(files) == 100 and int(sys.argv[1]) == max(f["status"] for f in files) <= 1, sys.argv
assert all({"file", "status", "ok", "kind", "problems", "differences"} <= set(f) for f in files)
# these are of several plants, whose addresses need not differ
fine = [f["ok"] or (f["problems"] and all("is also that of" in p for p in f["problems"])) for f in files]
assert document["ok"] == all(f["ok"] for f in files) and sum(map(bool, fine)) >= 90 and sum(f["ok"] for f in files) >= 40
PYTHON

# The worst status of several; one file's JSON is as it was.
printf 'title = "x"\nduration = 5\n' >bad.toml
run 0 check "$good" "$profile"
[ "$(head -1 out)" = 'PASS  2 files: 2 as they should be.' ] || fail "headline: $(head -1 out)"
run 1 check "$good" "$differ" "$profile"
grep -q "^    $differ: watchdog: controller 45 ms, device " out || grep -q "^    $differ: .*: controller .*, device .*; mend at " out ||
    fail "no difference told: $(cat out)"
run 2 check "$good" bad.toml "$differ"
grep -q '^    bad.toml:2: duration: 5 has no unit' out || fail "not told why: $(cat out)"
run 0 check "$good" --json; cp out one.json
run 0 check "$good" "$profile" --json
/usr/bin/python3 - <<'PYTHON' || fail "JSON of one and of several"
import json
one, two = json.load(open("one.json")), json.load(open("out"))
assert "files" not in one and "file" not in one
assert all(two["files"][0][key] == value for key, value in one.items())
PYTHON
run 2 check "$good" --format html;        one_line '^linkdrill: --format: "html" is none of them; write junit or sarif$'
run 2 check "$good" --format sarif --json; one_line '^linkdrill: --format: does not go with --json'
run 2 check;                              one_line 'FILE is missing'

# JUnit: by the schema of the other reports. SARIF: what the standard (OASIS, version 2.1.0) says must be there.
mkdir 'a folder'
cp bad.toml 'a folder/b#d.toml'
cp "$SOURCE/scenarios/drills/02_who_is_deaf.toml" "$SOURCE/scenarios/drills/actions.toml" .
cp -r "$SOURCE/scenarios/drills/plants" .
sed -i '/^\[expect\]/,$ s/^request = .*/request = true/; /^\[expect\]/,$ s/^receives = false/receives = true/' 02_who_is_deaf.toml
files=("$good" "$differ" 'a folder/b#d.toml' "$profile" 02_who_is_deaf.toml)
run 2 check "${files[@]}" --format junit
xmllint --noout --schema "$SOURCE/tests/tools/junit.xsd" out 2>xml || fail "JUnit: $(cat xml)"
[ "$(grep -c '<testsuite ' out)" = 5 ] || fail "not a suite for each file: $(cat out)"
grep -q '<testcase name="as it should be"' out || fail "nothing passes"
grep -q '<failure type="not-read" message="a folder/b#d.toml:2: duration: ' out || fail "no failure: $(cat out)"
run 2 check "${files[@]}" --format sarif
/usr/bin/python3 - <<'PYTHON' || fail "SARIF: $(head -c 2000 out)"
import json, re, urllib.parse
log = json.load(open("out"))
assert log["version"] == "2.1.0" and log["$schema"].endswith("/sarif-schema-2.1.0.json")  # 3.13.2, 3.13.3
assert set(log) == {"$schema", "version", "runs"} and len(log["runs"]) == 1
run = log["runs"][0]
assert set(run) == {"tool", "results"}  # 3.14.6: tool shall be there; 3.14.23: results, where a scan was made
driver = run["tool"]["driver"]
assert driver["name"] == "linkdrill" and driver["version"]  # 3.19.8
rules = driver["rules"]
assert len({rule["id"] for rule in rules}) == len(rules)  # 3.49.3
for rule in rules:
    assert rule["shortDescription"]["text"].endswith(".")  # 3.11.3: a sentence
    assert rule["defaultConfiguration"]["level"] in ("none", "note", "warning", "error")
assert run["results"]
seen = set()
for result in run["results"]:
    assert set(result) == {"ruleId", "ruleIndex", "level", "message", "locations"}
    assert rules[result["ruleIndex"]]["id"] == result["ruleId"]  # 3.27.5, 3.27.6
    assert result["level"] in ("none", "note", "warning", "error")  # 3.27.10
    assert result["message"]["text"] and "\n" not in result["message"]["text"]  # 3.11.8
    (location,) = result["locations"]
    physical = location["physicalLocation"]
    uri = physical["artifactLocation"]["uri"]
    assert re.fullmatch(r"(file:///)?([A-Za-z0-9._~/-]|%[0-9A-F]{2})+", uri), uri  # 3.4.3: RFC 3986
    if "region" in physical:
        line = physical["region"]["startLine"]
        assert isinstance(line, int) and line >= 1  # 3.30.5
    seen.add((result["ruleId"], urllib.parse.unquote(uri).rsplit("/", 1)[-1], "region" in physical))
assert ("not-read", "b#d.toml", True) in seen, seen
assert ("ends-differ", "four_settings_differ.toml", False) in seen, seen
assert ("promise-broken", "02_who_is_deaf.toml", True) in seen, seen
PYTHON
run 0 check "$profile" --format sarif
grep -q '"results": \[\]' out || fail "no empty list of results: $(cat out)"
# One address at stations of two names is found over the files; one station that stands in two files is no double.
run 0 new over_two_links saw.toml
run 0 new rope_pull rope.toml
run 0 check saw.toml rope.toml
sed 's/^address = "0x0022"/address = 82/' rope.toml >double.toml
run 1 check saw.toml double.toml
grep -q 'FAIL *double.toml' out || fail "a double address: $(cat out)"
grep -q 'the address 82 (0x52) of .* is also that of infeed I/O in saw.toml' out || fail "a double address: $(cat out)"
run 1 check saw.toml double.toml --json
/usr/bin/python3 -c '
import json
first, second = json.load(open("out"))["files"]
assert first["ok"] and not second["ok"] and any("is also that of" in p for p in second["problems"]), second' ||
    fail "a double address in JSON: $(cat out)"
run 1 check saw.toml double.toml --format junit
grep -q 'is also that of' out || fail "a double address in junit: $(cat out)"
cp rope.toml again.toml
run 0 check rope.toml again.toml
finish
