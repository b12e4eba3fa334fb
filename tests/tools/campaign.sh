#!/usr/bin/env bash
# linkdrill campaign: verdicts and statuses, the keys of its document, threads, the store (killed, full, damaged, foreign,
# in use, of another campaign), parts and their joining, one trial alone, Ctrl-C, bad input.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
lift=$SOURCE/scenarios/stage_lift/creeping_delay.toml
export PYTHONPATH=$SOURCE/tests/tools PYTHONDONTWRITEBYTECODE=1

# alter FILE SQL...: a store altered by another program; sealed FILE SQL...: with its checks made anew.
alter() { /usr/bin/python3 -c 'import store_checks, sys; store_checks.alter(*sys.argv[1:])' "$@" || fail "alter $*"; }
sealed() { /usr/bin/python3 -c 'import store_checks, sys; store_checks.alter_and_seal(*sys.argv[1:])' "$@" || fail "sealed $*"; }
# holds FILE: what the store says of itself is what its rows come to, reckoned by others.
holds() { /usr/bin/python3 -c 'import store_checks, sys; sys.exit(not store_checks.holds(sys.argv[1]))' "$1" || fail "the checks of $1"; }
# one_file FILE: it is all that is left, and can be read from anywhere.
one_file() {
    [ "$(ls "$1"*)" = "$1" ] || fail "more than one file is left: $(ls "$1"*)"
    [ "$(od -An -tu1 -j18 -N2 "$1")" = "   1   1" ] || fail "$1 cannot be read where nothing may be written"
}

# ---- verdicts, document, threads, seed ----

run 0 campaign "$good" --trials 3000 --jobs 1
grep -q '^PASS  .*: 3 000 trials, 0 dangerous, 0 late\.' out || fail "pass: $(cat out)"
grep -q 'With 95 % confidence at most 1 in 993 of the 2 974 that fired' out || fail "the bound of nothing in 3000: $(cat out)"
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
fired = 3000 - d["outcomes"]["not-fired"]
assert fired < 3000, d
assert abs(d["dangerous_upper_95"] - (1 - 0.05 ** (1 / fired))) < 1e-12, d
for name, e in d["by_error"].items():
    assert e["safe_state"] + e["tolerated"] + e["no_effect"] + e["dangerous"] + e["not_fired"] == e["trials"], e
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

# Every way of a fault can be read again.
mkdir drive && cp -r "$SOURCE/scenarios/profiles" drive
{ cat "$SOURCE/scenarios/log_debarker/guards.toml"
  printf '\n[[fault]]\nway = "drive-does-not-slow"\nat_end = "device"\nat = "13 s"\nlasting = "3 s"\n'; } >drive/plant.toml
run 0 campaign drive/plant.toml --trials 300 --json --store drive.sqlite; cp out drive.json
run 0 campaign drive/plant.toml --trials 300 --json --store drive.sqlite --resume
cmp -s out drive.json || fail "a store with a drive that does not slow down gives another result"

# ---- what is no store of this campaign is said, and left alone ----

refused() {
    local file=$1 before
    before=$(sha256sum "$file")
    run 2 campaign "$good" --trials $trials --store "$file" --resume
    one_line "$2"
    [ "$(sha256sum "$file")" = "$before" ] || fail "$file was written to"
}
head -c 3000 /dev/urandom >noise.sqlite;          refused noise.sqlite '^noise.sqlite: is no store of linkdrill'
echo 'trial,outcome' >text.sqlite;                refused text.sqlite '^text.sqlite: is no store of linkdrill'
/usr/bin/python3 -c 'import sqlite3; c = sqlite3.connect("foreign.sqlite"); c.execute("CREATE TABLE trial (trial)"); c.commit()'
refused foreign.sqlite '^foreign.sqlite: is no store of linkdrill'
cp all.sqlite damaged.sqlite
/usr/bin/python3 - <<'PYTHON'
with open("damaged.sqlite", "r+b") as f:
    for page in range(20, 200, 7):
        f.seek(page * 4096)
        f.write(b"\x5a" * 4096)
PYTHON
refused damaged.sqlite '^damaged.sqlite: is no store of linkdrill, or a damaged one'
for format in 1 2 4; do
    cp all.sqlite format.sqlite
    alter format.sqlite "PRAGMA user_version = $format"
    refused format.sqlite 'is a store of another version of linkdrill; go on with that one, or write another name'
done

# Altered by another program: said what, and left alone; nothing of it is believed.
cp all.sqlite gap.sqlite;   alter gap.sqlite 'DELETE FROM trial WHERE trial = 17'
refused gap.sqlite '^gap.sqlite: was altered since it was written: trial 17 is missing; it was left alone: '
cp all.sqlite short.sqlite; alter short.sqlite 'DELETE FROM trial WHERE trial = 39999'
refused short.sqlite 'trials 0 to 39998, or which of them were dangerous, do not fit their check; it was left alone'
cp all.sqlite blocks.sqlite; alter blocks.sqlite 'UPDATE block SET trials = 4'
refused blocks.sqlite 'trials 0 to 39999, or .* do not fit their check'
cp all.sqlite blocks.sqlite; alter blocks.sqlite 'INSERT INTO block SELECT 7, 0, 0, 0, 0'
refused blocks.sqlite 'it has 40 000 trials, and was left with 40 000'
cp all.sqlite names.sqlite; alter names.sqlite "UPDATE outcome_name SET name = 'tolerated' WHERE name = 'dangerous'"
refused names.sqlite 'its tables, or the names in them, do not fit their check'
cp all.sqlite trigger.sqlite
alter trigger.sqlite 'CREATE TRIGGER t AFTER INSERT ON trial BEGIN UPDATE trial SET outcome = 0 WHERE outcome = 3; END'
refused trigger.sqlite 'its tables, or the names in them, do not fit their check'
for column in trial fault way outcome starting demand in_time started detected_by detected_end detect_ns safe_state_ns \
    standstill_ns allowed_ns exchanges cycles spurious_trips digest functions_met functions_not_met functions_not_shown \
    demand_reduced_ns demand_stands_ns; do
    cp all.sqlite column.sqlite
    case $column in
        trial) alter column.sqlite 'UPDATE trial SET trial = 50000 WHERE trial = 39999' ;;
        *) alter column.sqlite "UPDATE trial SET $column = CASE WHEN coalesce($column, 1) = 1 THEN 0 ELSE 1 END WHERE trial = 4711" ;;
    esac
    refused column.sqlite '^column.sqlite: was altered since it was written: .*; it was left alone: '
done
for column in "version = 'x'" "scenario = 'x'" "contents = 'x'" "seed = '8'" 'trials = 40001' 'shard = 2' 'shards = 2' \
    'kept = 39999' 'dangerous = 1' 'blocks_check = 1' 'tables_check = 1' 'whole_check = 1'; do
    cp all.sqlite column.sqlite
    alter column.sqlite "UPDATE campaign SET $column"
    refused column.sqlite 'altered since it was written: what it says of its campaign does not fit its check'
done
run 1 campaign "$lift" --trials 500 --store lift.sqlite
for change in 'UPDATE trial SET outcome = 0 WHERE outcome = 3' 'DELETE FROM dangerous WHERE trial = 5' \
    'UPDATE dangerous SET trial = 6 WHERE trial = 5'; do
    cp lift.sqlite tampered.sqlite
    alter tampered.sqlite "$change"
    run 2 campaign "$lift" --trials 500 --store tampered.sqlite --resume
    one_line '^tampered.sqlite: was altered .*: its list of dangerous trials is not that of its trials; it was left alone'
    [ ! -s out ] || fail "told something of an altered store: $(cat out)"
    # and with its checks made anew: its sums contradict each other
    sealed tampered.sqlite
    run 2 campaign "$lift" --trials 500 --store tampered.sqlite --resume
    one_line 'its list of dangerous trials is not that of its trials'
done
cp lift.sqlite tampered.sqlite
alter tampered.sqlite "UPDATE dangerous SET why = 'nothing to speak of' WHERE trial = 5"
run 2 campaign "$lift" --trials 500 --store tampered.sqlite --resume
one_line 'trials 0 to 499, or which of them were dangerous, do not fit their check'

cp lift.sqlite version.sqlite; sealed version.sqlite "UPDATE campaign SET version = '0.0.9'"
run 2 campaign "$lift" --trials 500 --store version.sqlite --resume; one_line 'was begun by linkdrill 0.0.9'
holds all.sqlite
holds lift.sqlite
holds drive.sqlite
cp all.sqlite seed.sqlite
run 2 campaign "$good" --trials $trials --seed 99 --store seed.sqlite --resume; one_line 'holds trials of seed 7, not 99'
run 2 campaign "$lift" --trials $trials --seed 7 --store seed.sqlite --resume;  one_line 'holds trials of another scenario, "Veneer press'
run 2 campaign "$good" --trials 100 --store seed.sqlite --resume;               one_line 'is of a campaign of 40000 trials, not 100'
run 2 campaign "$good" --trials $trials --shard 1/2 --store seed.sqlite --resume; one_line 'holds part 1/1, not 1/2'
cmp -s seed.sqlite all.sqlite || fail "a refused store was written to"
mkdir profiles && cp "$SOURCE"/scenarios/profiles/*.toml profiles/
sed 's/lasting = "0.2 s"/lasting = "0.3 s"/' "$good" >changed.toml
run 2 campaign changed.toml --trials $trials --store seed.sqlite --resume;      one_line 'this file, or what it names, was changed since'
run 2 campaign "$good" --trials 10 --store . ;                                  one_line '^.: is no file'
run 3 campaign "$good" --trials 10 --store none/there.sqlite;                   one_line '^none/there.sqlite: '

# Two processes on one store: the second is told, the first is not disturbed.
"$LINKDRILL" campaign "$good" --trials $trials --json --store shared.sqlite >first.json 2>/dev/null &
first=$!
for _ in $(seq 3000); do
    [ -s shared.sqlite ] && break
    sleep 0.01
done
run 3 campaign "$good" --trials $trials --store shared.sqlite --resume; one_line '^shared.sqlite: another process is working on it'
wait $first || fail "the first of two processes"
cmp -s first.json whole.json || fail "the first of two processes was disturbed"

# A full disk: what was committed stays, and it goes on where it ended.
full() {
    one_line '^[a-z/]*full.sqlite: no room to write .*--resume$'
    run 0 campaign "$good" --trials $trials --json --store "$1" --resume
    cmp -s out whole.json || fail "after a full disk the result is another one"
}
status=0
(ulimit -f 700; exec "$LINKDRILL" campaign "$good" --trials $trials --store full.sqlite >out 2>err) || status=$?
[ $status = 3 ] || fail "status $status with a file that may not grow: $(cat err)"
full full.sqlite
mkdir small
if [ "$(id -u)" = 0 ] && mount -t tmpfs -o size=900k none small 2>/dev/null; then
    run 3 campaign "$good" --trials $trials --store small/full.sqlite
    cp small/full.sqlite* .
    [ -e full.sqlite ] || fail "nothing is left on a full disk"
    umount small
    rm -f full.sqlite*
fi

# ---- parts ----

run 0 campaign "$good" --trials 5000 --json; cp out whole.json
for k in 1 2 3; do run 0 campaign "$good" --trials 5000 --shard $k/3 --store part$k.sqlite; done
run 0 campaign "$good" --json --merge part1.sqlite part2.sqlite part3.sqlite
cmp -s out whole.json || fail "parts joined give another result"
run 0 campaign "$good" --trials 5000 --json --merge part3.sqlite,part1.sqlite,part2.sqlite --store joined.sqlite
cmp -s out whole.json || fail "parts joined in another order give another result"
run 0 campaign "$good" --trials 5000 --json --store joined.sqlite --resume
cmp -s out whole.json || fail "the joined store gives another result"
run 0 campaign "$good" --trials 5000 --shard 2/4 --store other.sqlite
run 0 campaign "$good" --trials 5000 --shard 2/3 --seed 9 --store seed9.sqlite
cp part2.sqlite short.sqlite
sealed short.sqlite 'DELETE FROM trial WHERE trial > 3000'
merge_refused() {
    local said=$1
    shift
    run 2 campaign "$good" --merge "$@" --store refused.sqlite
    one_line "$said"
    [ ! -e refused.sqlite ] || fail "a refused merge wrote a store"
}
cp part2.sqlite bent.sqlite
alter bent.sqlite 'UPDATE trial SET detect_ns = 1 WHERE trial = 3000'
merge_refused 'bent.sqlite: was altered since it was written: trials 1666 to 3332, or' part1.sqlite bent.sqlite part3.sqlite
merge_refused 'part 2/3 is missing before it' part1.sqlite part3.sqlite
merge_refused 'part 3/3 is missing after it' part1.sqlite part2.sqlite
merge_refused 'is part 2/3 once more' part1.sqlite part2.sqlite part3.sqlite short.sqlite
merge_refused 'is named twice' part1.sqlite part1.sqlite part2.sqlite
merge_refused 'name parts of one campaign' part1.sqlite other.sqlite part3.sqlite
merge_refused 'holds trials of seed 9' part1.sqlite seed9.sqlite part3.sqlite
merge_refused 'has 1335 of its 1667 trials; finish it' part1.sqlite short.sqlite part3.sqlite
merge_refused 'is not there' part1.sqlite nowhere.sqlite part3.sqlite
merge_refused 'is no store of linkdrill' part1.sqlite noise.sqlite
run 2 campaign "$lift" --seed 7 --merge part1.sqlite part2.sqlite part3.sqlite; one_line 'trials of another scenario'
run 2 campaign "$good" --trials 4000 --merge part1.sqlite part2.sqlite part3.sqlite; one_line 'a campaign of 5000 trials, not 4000'

# Parts are only read: their bytes stay, and so does what is beside them; a folder on a stick is enough.
holds joined.sqlite
holds part2.sqlite
sha256sum part?.sqlite >sums
chmod 444 part?.sqlite
run 0 campaign "$good" --merge part1.sqlite part2.sqlite part3.sqlite --store again.sqlite
cmp again.sqlite joined.sqlite || fail "joined twice, another store"
sha256sum --quiet -c sums || fail "joining changed a part"
mkdir 'a stick?' && cp part?.sqlite 'a stick?' && chmod 555 'a stick?'
as_another=()
[ "$(id -u)" != 0 ] || as_another=(setpriv --reuid 65534 --regid 65534 --clear-groups)
chmod 755 . && chmod 444 'a stick?'/*
if "${as_another[@]}" test -x "$LINKDRILL" -a -r "$good" && "${as_another[@]}" test ! -w 'a stick?'; then
    "${as_another[@]}" "$LINKDRILL" campaign "$good" --json --merge 'a stick?'/part1.sqlite 'a stick?'/part2.sqlite \
        'a stick?'/part3.sqlite >out 2>err || fail "parts that may only be read: $(cat err)"
    cmp -s out whole.json || fail "parts that may only be read give another result"
else
    echo "not tried: joining as another user, who may not use the program or the scenario here"
fi
[ "$(ls 'a stick?' | wc -l)" = 3 ] || fail "something was written beside the parts: $(ls 'a stick?')"
chmod 755 'a stick?'

# A part that its process left with a log is not taken for what its main file holds.
for log in wal journal; do
    cp part2.sqlite left.sqlite
    chmod 644 left.sqlite
    head -c 5000 /dev/urandom >left.sqlite-$log
    sha256sum left.sqlite* >sums
    merge_refused "left.sqlite-$log lies beside it\\); let the command that writes it end, with --resume" part1.sqlite left.sqlite part3.sqlite
    sha256sum --quiet -c sums || fail "joining changed a part that was refused"
    rm left.sqlite-$log
done
"$LINKDRILL" campaign "$good" --trials 5000 --shard 2/3 --quiet --store alive.sqlite >/dev/null 2>&1 &
alive=$!
for _ in $(seq 3000); do [ -s alive.sqlite-wal ] && break; sleep 0.01; done
kill -9 $alive; wait $alive 2>/dev/null
[ -s alive.sqlite-wal ] || fail "killed too late to leave a log"
merge_refused 'alive.sqlite-wal lies beside it' part1.sqlite alive.sqlite part3.sqlite
run 0 campaign "$good" --trials 5000 --shard 2/3 --store alive.sqlite --resume
run 0 campaign "$good" --json --merge part1.sqlite alive.sqlite part3.sqlite
cmp -s out whole.json || fail "a part that was killed and ended gives another result"

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
cat "$differ" >differ.toml
printf '[[fault]]\nerror = "loss"\nway = "drop"\nat = "1 s"\n' >>differ.toml
run 1 campaign differ.toml --trials 20
grep -q '^FAIL  .*the link did not start in any trial' out || fail "settings that differ: $(cat out)"
finish
