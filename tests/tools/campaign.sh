#!/usr/bin/env bash
# linkdrill campaign: verdicts and statuses, the keys of its document, threads, the store (killed, in pieces, what is kept
# of it), what a campaign costs, one trial alone, Ctrl-C, bad input.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
. "$SOURCE/tests/tools/campaign.bash"

# ---- verdicts, document, threads, seed ----

run 0 campaign "$good" --trials 3000 --jobs 1
grep -q '^PASS  .*: 3 000 trials, 0 dangerous, 0 late\.' out || fail "pass: $(cat out)"
grep -q 'With 95 % confidence at most 1 in 985 of the 2 952 that fired' out || fail "the bound of nothing in 3000: $(cat out)"
run 0 campaign "$good" --trials 3000 --quiet
[ "$(wc -l <out)" = 1 ] && [ ! -s err ] || fail "--quiet: $(cat out err)"
run 1 campaign "$lift" --trials 500 --out kept
grep -q '^DANGEROUS  .*: 500 trials, [0-9]* dangerous' out || fail "dangerous: $(cat out)"
[ -s kept/campaign.txt ] && [ -s kept/campaign.json ] && [ -s kept/dangerous.csv ] || fail "nothing kept with --out"
for columns in 60 100; do
    COLUMNS=$columns run 1 campaign "$lift" --trials 500
    [ "$(wc -L <out)" -le 100 ] || fail "a line is wider than 100 columns"
done
run 0 campaign "$good" --trials 3000 --json --jobs 1; cp out whole.json
for jobs in 2 5; do
    run 0 campaign "$good" --trials 3000 --json --jobs $jobs
    cmp -s out whole.json || fail "another result with $jobs threads"
done
run 0 campaign "$good" --trials 3000 --json --seed 8
cmp -s out whole.json && fail "the seed changes nothing"
run 1 campaign "$lift" --trials 500 --json; cp out lift.json
/usr/bin/python3 - "$LINKDRILL" "$lift" <<'PYTHON' || fail "the document, or a repeated trial"
import json, shlex, subprocess, sys
d = json.load(open("whole.json"))
errors = {"corruption", "repetition", "incorrect-sequence", "loss", "delay", "insertion", "masquerade", "addressing"}
assert set(d["by_error"]) == errors and d["trials"] == 3000, d
assert sum(d["outcomes"].values()) == 3000 and d["outcomes"]["dangerous"] == 0 and d["dangerous"] == [], d
assert {"safe-state", "tolerated", "no-effect", "dangerous"} <= set(d["outcomes"]), d
assert len(d["functions"]) == 2 and all(f["not_met"] == 0 and f["met"] > 100 and f["worst_ms"] > 0 for f in d["functions"]), d
assert sum(f["met"] + f["not_met"] + f["not_shown"] for f in d["functions"]) > d["with_demand"] / 2, d
fired = 3000 - d["outcomes"]["not-fired"] - d["outcomes"]["never-ran"]
assert fired < 3000, d
assert abs(d["dangerous_upper_95"] - (1 - 0.05 ** (1 / fired))) < 1e-12, d
for name, e in d["by_error"].items():
    assert e["safe_state"] + e["tolerated"] + e["no_effect"] + e["dangerous"] + e["not_fired"] + e["never_ran"] == e["trials"], e
    assert sum(e["first_measure"].values()) == e["detected"] and e["late"] == 0, e
    for times in ("detect_ms", "safe_state_ms", "standstill_ms"):
        assert e[times]["median"] <= e[times]["p99"] <= e[times]["max"], e
    assert e["standstill_ms"]["max"] <= e["allowed_ms"], e
    for outcome, share in e["shares"].items():
        assert share["low"] <= share["share"] <= share["high"], e
d = json.load(open("lift.json"))
assert d["outcomes"]["dangerous"] == len(d["dangerous"]) == d["by_error"]["delay"]["dangerous"] > 30, d
for one in d["dangerous"][::10]:
    words = shlex.split(one["repeat"])
    assert words[0] == "linkdrill" and one["error"] == "delay" and one["seed"] == d["seed"], one
    again = subprocess.run([sys.argv[1], *words[1:], "--json"], capture_output=True)
    assert again.returncode == 1, again
    trial = json.loads(again.stdout)
    assert trial["outcome"] == "dangerous" and trial["why"] == one["why"] and trial["trial"] == one["trial"], trial
PYTHON

# One trial alone, for people too.
run 0 campaign "$good" --trial 0
grep -q '^Repeat     linkdrill campaign ' out || fail "one trial: $(cat out)"

# ---- the store: the same bytes, alone, interrupted, killed ----

trials=40000
run 0 campaign "$good" --trials $trials --json; cp out whole.json
run 0 campaign "$good" --trials $trials --json --store all.sqlite
cmp -s out whole.json || fail "the store changes the result"
one_file all.sqlite
before=$(sha256sum all.sqlite)
run 0 campaign "$good" --trials $trials --json --store all.sqlite --resume
cmp -s out whole.json || fail "a complete store gives another result"
[ "$(sha256sum all.sqlite)" = "$before" ] || fail "a complete store was written to"
run 2 campaign "$good" --trials $trials --store all.sqlite; one_line '^all.sqlite: is there already; add --resume'
/usr/bin/python3 - <<'PYTHON' || fail "the rows of the store"
import json, sqlite3
d = json.load(open("whole.json"))
rows = sqlite3.connect("file:all.sqlite?mode=ro", uri=True)
for outcome, count in d["outcomes"].items():
    assert rows.execute("SELECT count(*) FROM trials WHERE outcome = ?", (outcome,)).fetchone()[0] == count, outcome
for error, e in d["by_error"].items():
    worst = rows.execute("SELECT max(detect_ms) FROM trials WHERE error = ?", (error,)).fetchone()[0]
    assert abs(worst - e["detect_ms"]["max"]) < 1e-9, (error, worst)
    times = [r[0] for r in rows.execute("SELECT detect_ns FROM trial JOIN way_name ON number = way WHERE error = ? AND "
                                        "detect_ns NOT NULL ORDER BY detect_ns", (error,))]
    assert len(times) == e["detected"] or error == "loss", error
    assert times[(len(times) + 1) // 2 - 1] / 1e6 == e["detect_ms"]["median"], error
    assert times[len(times) - len(times) // 100 - 1] / 1e6 == e["detect_ms"]["p99"], error
PYTHON

# Killed at many moments, the first before there is anything; each time the same command goes on.
for wait in 0 0.01 0.02 0.03 0.05 0.1 0.3 0.6 0.7; do
    "$LINKDRILL" campaign "$good" --trials $trials --json --quiet --store killed.sqlite --resume >/dev/null 2>&1 &
    killed=$!
    sleep $wait
    kill -9 $killed 2>/dev/null
    wait $killed 2>/dev/null
done
run 0 campaign "$good" --trials $trials --json --store killed.sqlite --resume
cmp -s out whole.json || fail "killed and resumed, the result is another one"
# More trials than before are a longer campaign; the first ones stay.
run 0 campaign "$good" --trials 1000 --store grows.sqlite
run 0 campaign "$good" --trials $trials --json --store grows.sqlite --resume
cmp -s out whole.json || fail "a campaign made longer gives another result"

# Ctrl-C: status 130, what was done is kept and said; nothing else on standard output than the document.
/usr/bin/python3 - "$LINKDRILL" "$good" <<'PYTHON' || fail "Ctrl-C"
import json, os, re, signal, subprocess, sys, time
run = subprocess.Popen([sys.argv[1], "campaign", sys.argv[2], "--trials", "100000000", "--json", "--store", "stopped.sqlite"],
                       stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
kept, patience = "stopped.sqlite-wal", time.monotonic() + 60
while not (os.path.exists(kept) and os.path.getsize(kept) > 200_000) and time.monotonic() < patience:
    time.sleep(0.05)
run.send_signal(signal.SIGINT)
out, said = run.communicate(timeout=60)
assert run.returncode == 130, (run.returncode, said)
document = json.loads(out)
done = document["trials"]
assert 0 < done < 100000000 and document["verdict"] == "stopped", document
kept = re.search(r"STOPPED  ([0-9 ]+) of 100 000 000 trials done and kept in stopped.sqlite. Go on: same command, --resume", said)
assert kept and int(kept[1].replace(" ", "")) == done, said
import sqlite3
assert sqlite3.connect("stopped.sqlite").execute("SELECT count(*) FROM trial").fetchone()[0] == done
PYTHON
one_file stopped.sqlite
# The same for what a service manager sends, at any moment; also while the store is made or read.
for wait in 0.005 0.02 0.05 0.2 0.5; do
    timeout --signal TERM $wait "$LINKDRILL" campaign "$good" --trials 100000000 --quiet --store ended.sqlite --resume >/dev/null 2>&1
    [ ! -e ended.sqlite ] || one_file ended.sqlite
done
[ -s ended.sqlite ] || fail "nothing was kept until TERM came"

# What is kept is chosen; the result is the same. Killed, it goes on; without rows too.
for keep in dangerous summary; do
    run 0 campaign "$good" --trials $trials --json --store $keep.sqlite --keep $keep
    cmp -s out whole.json || fail "--keep $keep changes the result"
    one_file $keep.sqlite
    before=$(sha256sum $keep.sqlite)
    run 0 campaign "$good" --trials $trials --json --store $keep.sqlite --keep $keep --resume
    cmp -s out whole.json || fail "a complete store with --keep $keep gives another result"
    [ "$(sha256sum $keep.sqlite)" = "$before" ] || fail "a complete store with --keep $keep was written to"
    run 2 campaign "$good" --trials $trials --store $keep.sqlite --resume; one_line "keeps $keep, not all; write --keep $keep,"
    for wait in 0.02 0.6 0.7 0.9 1.2; do
        timeout --signal KILL $wait "$LINKDRILL" campaign "$good" --trials $trials --quiet --jobs 1 --keep $keep \
            --store killed-$keep.sqlite --resume >/dev/null 2>&1
    done
    run 0 campaign "$good" --trials $trials --json --store killed-$keep.sqlite --resume --keep $keep
    cmp -s out whole.json || fail "killed and resumed with --keep $keep, the result is another one"
done
[ "$(stat -c %s summary.sqlite)" -lt "$(($(stat -c %s all.sqlite) / 2))" ] || fail "a store without rows is large"
/usr/bin/python3 - "$LINKDRILL" "$lift" <<'PYTHON' || fail "the rows of the dangerous trials"
import json, sqlite3, subprocess, sys
for keep in ("dangerous", "summary"):
    run = subprocess.run([sys.argv[1], "campaign", sys.argv[2], "--trials", "500", "--json", "--keep", keep, "--store", f"lift-{keep}.sqlite"],
                         stdout=subprocess.PIPE)
    document = json.loads(run.stdout)
    assert run.returncode == 1 and document["dangerous_not_listed"] == 0, document
    store = sqlite3.connect(f"lift-{keep}.sqlite")
    rows = store.execute("SELECT trial, why, outcome FROM trials ORDER BY trial").fetchall()
    expected = [(d["trial"], d["why"], "dangerous") for d in document["dangerous"]] if keep == "dangerous" else []
    assert rows == expected, (keep, rows[:3])
PYTHON

# As long as it may: status 130, what was done is kept, and the same command ends it.
run 130 campaign "$good" --trials 100000000 --store until.sqlite --keep summary --until "0.4 s"
grep -q '^STOPPED .* of 100 000 000 trials done and kept in until.sqlite. Go on: same command, --resume' err || fail "--until: $(cat err)"
one_file until.sqlite
for _ in $(seq 100); do
    status=0
    "$LINKDRILL" campaign "$good" --trials $trials --json --quiet --keep summary --store pieces.sqlite --resume --until 300ms >out 2>err || status=$?
    [ $status = 130 ] || break
done
[ $status = 0 ] && cmp -s out whole.json || fail "in pieces the result is another one"
for wrong in 5 '' '-1 s' '0 s' '1 fortnight'; do
    run 2 campaign "$good" --trials 10 --until "$wrong"; one_line '^linkdrill: --until: .* is no time to run for'
done
run 2 campaign "$good" --trials 10 --store k.sqlite --keep some; one_line '^linkdrill: --keep: "some" is nothing to keep; write all, dangerous or summary'
run 2 campaign "$good" --trials 10 --keep all; one_line '^linkdrill: --keep: .*add --store'

# What it costs, by some of it run here; nothing is left.
export TMPDIR=$PWD/plans && mkdir plans
for keep in all summary; do
    run 0 campaign "$good" --trials 1000000000000 --plan --keep $keep --json; cp out plan-$keep.json
    run 0 campaign "$good" --trials 1000 --plan --keep $keep
    grep -q '^PLAN  .*: 1 000 trials take ' out || fail "a plan: $(cat out)"
done
# a summary is no larger than was said of it
run 0 campaign "$good" --trials $trials --plan --keep summary --json
said=$(sed -n 's/^  "bytes": \([0-9]*\).*/\1/p' out)
[ "${said:-0}" -ge "$(stat -c %s summary.sqlite)" ] || fail "a plan of $said bytes, and $(stat -c %s summary.sqlite) in the store"
[ -z "$(ls plans)" ] || fail "a plan leaves $(ls plans)"
unset TMPDIR
/usr/bin/python3 - <<'PYTHON' || fail "the figures of a plan"
import json
rows, summary = json.load(open("plan-all.json")), json.load(open("plan-summary.json"))
for plan in (rows, summary):
    assert plan["parts"] == 1000 and plan["core_hours"] > 100 and plan["measured_trials"] > 1000, plan
    # the parts together are the whole, none longer than an hour
    assert abs(plan["parts"] * plan["processors"] * plan["part_hours"] / plan["core_hours"] - 1) < 1e-9 and plan["part_hours"] <= 1, plan
    assert len(plan["commands"]) == 3 and "--shard {}/1000" in plan["commands"][0], plan
# a row is some fifty bytes and takes a microsecond to join; a summary neither
assert 3e13 < rows["bytes"] < 3e14 and summary["bytes"] < rows["bytes"] / 1000, (rows, summary)
assert summary["join_s"] < rows["join_s"] / 1000, (rows, summary)
PYTHON

# Every way of a fault can be read again.
mkdir drive && cp -r "$SOURCE/scenarios/profiles" drive
{ cat "$SOURCE/scenarios/log_debarker/guards.toml"
  printf '\n[[fault]]\nway = "drive-does-not-slow"\nat_end = "device"\nat = "13 s"\nlasting = "3 s"\n'; } >drive/plant.toml
run 0 campaign drive/plant.toml --trials 300 --json --store drive.sqlite; cp out drive.json
run 0 campaign drive/plant.toml --trials 300 --json --store drive.sqlite --resume
holds drive.sqlite
cmp -s out drive.json || fail "a store with a drive that does not slow down gives another result"

# ---- bad input: one line, nothing done ----

for number in 0 -1 1e3 abc '' 1.5 99999999999999; do
    run 2 campaign "$good" --trials "$number";  one_line '^linkdrill: --trials: .*write a whole number, 1 to 1000000000000'
done
for shard in 0/2 3/2 1 1/ /2 a/b 1/0 1/2/3 -1/2; do
    run 2 campaign "$good" --trials 10 --shard "$shard"; one_line '^linkdrill: --shard: .*is no part; write 1/8'
done
run 2 campaign "$good" --trials 3 --shard 1/4;     one_line 'more parts than trials'
run 2 campaign "$good";                            one_line '^linkdrill: --trials: missing'
run 2 campaign "$good" --trials 10 --resume;       one_line '^linkdrill: --resume: needs the store'
run 2 campaign "$good" --trials 10 --trial 3;      one_line '^linkdrill: --trials: does not go with --trial'
run 2 campaign "$good" --merge part1.sqlite --shard 1/2; one_line '^linkdrill: --shard: does not go with --merge'
run 2 campaign "$good" --trials 10 --merge;        one_line '^linkdrill: --merge: '
run 2 campaign none.toml --trials 10;              one_line '^none.toml: '
run 2 campaign "$profile" --trials 10;             one_line 'is a telegram profile'
# A scenario that names no fault: each of the eight errors.
run 0 campaign "$SOURCE/scenarios/veneer_press/fault_free_day.toml" --trials 200 --json
/usr/bin/python3 -c 'import json; d = json.load(open("out")); e = d["by_error"]
assert len(e) == 8 and all(one["trials"] > 0 for one in e.values()) and not d["dangerous"], e' || fail "errors of its own"
mkdir profiles && cp "$SOURCE"/scenarios/profiles/*.toml profiles/
cat "$differ" >differ.toml
printf '[[fault]]\nerror = "loss"\nway = "drop"\nat = "1 s"\n' >>differ.toml
run 1 campaign differ.toml --trials 20
grep -q '^FAIL  .*the link did not start in any trial' out || fail "settings that differ: $(cat out)"
finish
