#!/usr/bin/env bash
# linkdrill endurance: verdicts and statuses, the keys of its document, bad input, processors, Ctrl-C.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
mkdir profiles
cp "$SOURCE"/scenarios/profiles/*.toml profiles/
cp "$SOURCE"/scenarios/veneer_press/*.csv .

# scenario NAME CHANNEL LIMIT: the press with that channel and limit.
scenario() {
    sed '/^\[\[fault\]\]/,$d' "$SOURCE/scenarios/veneer_press/second_error_stops.toml" |
        sed 's/^delay = { from = .*/&\n'"$2"'/' >"$1.toml"
    [ -z "$3" ] || printf '[limit]\ntrips_per_year = %s\n' "$3" >>"$1.toml"
}
scenario quiet '' ''
scenario lossy 'loss = 1e-6\nbit_error_rate = 1e-8' 0.5
scenario patient 'loss = 1e-6\nbit_error_rate = 1e-8' 100000
scenario burst 'loss = { good_to_bad = 1e-7, bad_to_good = 0.05 }' 100000

run 0 endurance quiet.toml --years 1
grep -q '^PASS  .*no stop for nothing in 1$\|^PASS  .*no stop for nothing in 1 year\.' out || fail "quiet: $(cat out)"
grep -q 'Nothing in this scenario' out || fail "a channel without errors is not said to be one"
run 1 endurance lossy.toml --years 1
grep -q '^FAIL  .* stops for nothing in 1' out || fail "lossy: $(cat out)"
run 0 endurance patient.toml --years 1
grep -q '^PASS' out || fail "patient: $(cat out)"
run 0 endurance burst.toml --years 1 --quiet
[ "$(wc -l <out)" = 1 ] && [ ! -s err ] || fail "--quiet: $(cat out err)"
run 1 endurance "$SOURCE/scenarios/glass_table/four_settings_differ.toml" --years 1
grep -q 'the link did not start' out || fail "settings that differ: $(cat out)"
for columns in 60 100; do
    COLUMNS=$columns run 1 endurance lossy.toml --years 1
    [ "$(wc -L <out)" -le 100 ] || fail "a line is wider than 100 columns"
done

# The document, and the same on two processors; another seed gives another result.
run 1 endurance lossy.toml --years 2 --json --jobs 1; cp out one
run 1 endurance lossy.toml --years 2 --json --jobs 2
cmp -s out one || fail "another result on two processors"
run 1 endurance lossy.toml --years 2 --json --seed 5
cmp -s out one && fail "the seed changes nothing"
/usr/bin/python3 - <<'PYTHON' || fail "the document"
import json
d = json.load(open("one"))
trips = d["spurious_trips"]["controller"] + d["spurious_trips"]["device"]
assert abs(d["years"] - 2) < 1e-6 and abs(d["cycles"] - 2 * 365.25 * 86400 / 0.010) < 1e6, d
assert trips > 100 and abs(d["per_year"] - trips / d["years"]) < 1e-9 * trips, d
assert d["low"] < d["per_year"] < d["high"] and d["dangerous"] == 0, d
assert d["windows_simulated"] > 10000 and d["method"] == "jumps", d
assert set(d["rejected"]) == {"sequence", "time-stamp", "time-expectation", "authentication", "feedback", "integrity",
                              "cross-check", "different-integrity"}, d
assert d["rejected"]["integrity"] > trips and d["verdict"] == "fail", d
PYTHON

# Kept with --out, beside a mark.
run 1 endurance lossy.toml --years 1 --out kept
[ -s kept/endurance.txt ] && [ -s kept/endurance.json ] && [ -e kept/.linkdrill ] || fail "nothing kept with --out"

# Bad input: one line, nothing done.
for years in 0 -1 1e12 -0 nan inf abc 1x '' ' 1' 0x10 1,5; do
    run 2 endurance quiet.toml --years "$years";  one_line '^linkdrill: --years: .*write a number of years'
done
run 2 endurance quiet.toml;                      one_line '^linkdrill: --years: missing'
run 2 endurance --years 1;                       one_line 'FILE is missing'
run 2 endurance none.toml --years 1;             one_line '^none.toml: '
run 2 endurance "$profile" --years 1;            one_line 'is a telegram profile'
run 2 endurance lossy.toml --years 1e6;          one_line '^linkdrill: --years: "1e6" years would take about .*; write at most'
scenario queue 'queue = { service = "0.1 ms", background = "bursts", load = 0.5, burst = 4, room = "10 ms" }' ''
if "$LINKDRILL" check queue.toml >/dev/null 2>&1; then
    run 2 endurance queue.toml --years 1000;     one_line 'every cycle has to be simulated .other traffic queues'
    run 0 endurance queue.toml --years 0.0001
    grep -q 'every one of 315 576 cycles' out || fail "queue: $(cat out)"
else
    fail "the queue scenario: $("$LINKDRILL" check queue.toml 2>&1)"
fi

# Ctrl-C: status 130, and the parts that were finished are kept and said.
scenario long 'loss = 1e-3\nbit_error_rate = 1e-7' ''
/usr/bin/python3 - "$LINKDRILL" <<'PYTHON' || fail "Ctrl-C"
import json, signal, subprocess, sys, time
# a year takes about a minute, each of its twelve parts some seconds
run = subprocess.Popen([sys.argv[1], "endurance", "long.toml", "--years", "1", "--json", "--quiet"],
                       stdout=subprocess.PIPE, stderr=subprocess.PIPE)
time.sleep(2)
run.send_signal(signal.SIGINT)
out, said = run.communicate(timeout=20)
assert run.returncode == 130, (run.returncode, said)
document = json.loads(out)
assert document["parts_finished"] < document["parts"], document
assert abs(document["years"] - document["parts_finished"] / 12) < 1e-6, document
PYTHON
finish
