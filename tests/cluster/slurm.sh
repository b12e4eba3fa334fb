#!/usr/bin/env bash
# A campaign on the real Slurm, two nodes on this computer: four parts, one of them killed, a node killed under another, the
# same command given again at any time, joined by a job that waits for them; the fingerprint must be that of one process.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
skip() {
    echo "not tried: $*"
    exit 77
}
for program in /usr/sbin/slurmctld /usr/sbin/slurmd /usr/sbin/munged /usr/bin/sbatch; do
    [ -x "$program" ] || skip "$program is not there; tools/setup tests"
done
[ "$(id -u)" = 0 ] || skip "Slurm's nodes need root here"
chmod 755 "$work"  # munged runs as a user of its own
engine=$SOURCE/tests/cluster/engine
trap '"$engine" stop "$work/engine"; sleep 0.3; chmod -R u+rwx "$work"; rm -rf "$work"' EXIT

# One of them is dangerous, so that status 1 is met too: an old telegram that has the number of the one expected.
trials=800000
status=0
"$LINKDRILL" campaign "$good" --trials $trials --json >alone.json 2>/dev/null || status=$?
[ $status = 1 ] || fail "one process: status $status, $(cat alone.json)"
digest() { sed -n 's/^  "digest": "\(.*\)",*$/\1/p' "$1"; }
"$engine" start "$work/engine" || { fail "the engine does not start"; finish; }
export SLURM_CONF=$work/engine/slurm.conf
give() { "$SOURCE/tools/cluster/submit" "$good" --trials $trials --parts 4 --folder run >given 2>err; }
parts_in_queue() { squeue --noheader --states all 2>/dev/null | grep -vc 'join'; }

# wait_for SECONDS COMMAND...: until it succeeds
wait_for() {
    local end=$((SECONDS + $1))
    shift
    until "$@"; do
        [ "$SECONDS" -lt "$end" ] || return 1
        sleep 0.1
    done
}
process_of() { pgrep -f "^[^ ]*linkdrill campaign .*--store $work/run/part-$1.sqlite" | head -n 1; }
at_work() { [ -n "$(process_of "$1")" ] && [ -s "run/part-$1.sqlite" ]; }

give || fail "submit: $(cat given err)"
grep -q '^parts 1-4 of 4: job ' given && grep -q '^join: job ' given || fail "submit said: $(cat given err)"

# Killed alone, a part goes on from its store.
wait_for 60 at_work 1 || fail "part 1 does not begin: $(squeue 2>&1; cat run/*.log)"
sleep 0.5
kill -9 "$(process_of 1)" || fail "part 1 was over before it could be killed"

# The same command while they are in the queue adds nothing.
before=$(squeue --noheader --array 2>/dev/null | wc -l)
give || fail "submit once more: $(cat given err)"
grep -q '^the parts are in the queue already, as job ' given || fail "submit once more said: $(cat given err)"
[ "$(squeue --noheader --array 2>/dev/null | wc -l)" -le "$before" ] || fail "submit once more put more into the queue"

# A node is gone with all that ran on it: found out by its silence, its part is queued again and goes on on the other one.
node_of_part() { squeue --noheader --array --states running --format '%a %K %N' 2>/dev/null | awk -v node="$1" '$3 == node { print $2 }' | head -n 1; }
busy_node() { part=$(node_of_part n2) && [ -n "$part" ] && at_work "$part"; }
wait_for 60 busy_node || fail "nothing runs on n2: $(squeue 2>&1)"
on_n2=$part
victim=$(process_of "$on_n2")
# the node's daemon, the part's step (all that is of its session) and the part
kill -9 "$(cat "$work/engine/slurmd.n2.pid")" && pkill -9 -s "$(ps -o sid= -p "$victim" | tr -d ' ')"
kill -9 "$(pgrep -f 'slurmstepd: \[.*' | while read -r step; do
    tr '\0' '\n' <"/proc/$step/environ" 2>/dev/null | grep -qx 'SLURMD_NODENAME=n2' && echo "$step"; done)" 2>/dev/null || true

empty() { [ -z "$(squeue --noheader 2>/dev/null)" ]; }
wait_for 240 empty || fail "the queue does not end: $(squeue 2>&1; sinfo 2>&1; tail -n 5 run/*.log "$work"/engine/*.log)"
[ -e run/joined/campaign.json ] || { give; wait_for 120 empty; }
grep -q 'status 137, try' run/part-1.log || fail "part 1 was not killed: $(cat run/part-1.log)"
grep -q 'begun [1-9][0-9]* times before' "run/part-$on_n2.log" || fail "part $on_n2 was not queued again: $(cat "run/part-$on_n2.log")"
[ -n "$(digest alone.json)" ] && [ "$(digest alone.json)" = "$(digest run/joined/campaign.json)" ] ||
    fail "joined $(digest run/joined/campaign.json), alone $(digest alone.json): $(cat run/*.log)"

# When all is done the same command does nothing; where a store is lost it gives that part again, and no other.
give || fail "submit at the end: $(cat given err)"
grep -q "^all 4 parts are finished and joined: $work/run/joined" given || fail "submit at the end said: $(cat given err)"
empty || fail "submit at the end put something into the queue"
rm run/part-3.sqlite
give || fail "submit for a lost part: $(cat given err)"
grep -q '^parts 3 of 4: job ' given || fail "submit for a lost part said: $(cat given err)"
wait_for 120 empty || fail "the queue does not end: $(squeue 2>&1)"
[ "$(digest alone.json)" = "$(digest run/joined/campaign.json)" ] || fail "after a lost part another result"
status=0
"$SOURCE/tools/cluster/submit" "$good" --trials $trials --parts 5 --folder run >given 2>err || status=$?
[ $status = 2 ] && grep -q 'was begun with others' err || fail "other parts in one folder: status $status, $(cat given err)"
finish
