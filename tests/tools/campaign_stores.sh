#!/usr/bin/env bash
# linkdrill campaign: stores that are damaged, altered, foreign, in use or of another campaign, and a full disk.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
. "$SOURCE/tests/tools/campaign.bash"

trials=40000
run 0 campaign "$good" --trials $trials --json --store all.sqlite; cp out whole.json

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
for format in 1 4 6; do
    cp all.sqlite format.sqlite
    alter format.sqlite "PRAGMA user_version = $format"
    refused format.sqlite 'is a store of another layout, of another version of linkdrill; go on with that one, or write another name'
done

# Altered by another program: said what, and left alone; nothing of it is believed.
cp all.sqlite gap.sqlite;   alter gap.sqlite 'DELETE FROM trial WHERE trial = 17'
refused gap.sqlite '^gap.sqlite: was altered since it was written: trial 17 is missing; it was left alone: '
cp all.sqlite short.sqlite; alter short.sqlite 'DELETE FROM trial WHERE trial = 39999'
refused short.sqlite 'trials 0 to 39998, or which of them were dangerous, do not fit their check; it was left alone'
cp all.sqlite blocks.sqlite; alter blocks.sqlite 'UPDATE block SET trials = 4'
refused blocks.sqlite 'trials 0 to 39999, or .* do not fit their check'
cp all.sqlite blocks.sqlite; alter blocks.sqlite 'INSERT INTO block SELECT 7, 0, 0, 0, 0, 0'
refused blocks.sqlite 'it has blocks of trials that it has no rows of'
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
for column in "made_by = 'x'" "scenario = 'x'" "contents = 'x'" "seed = '8'" 'trials = 40001' 'model = 3' 'keep = 1' 'shard = 2' 'shards = 2' \
    'kept = 39999' 'dangerous = 1' 'blocks_check = 1' 'summary_check = 1' 'tables_check = 1' 'whole_check = 1'; do
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

cp lift.sqlite model.sqlite; sealed model.sqlite "UPDATE campaign SET model = 99"
run 2 campaign "$lift" --trials 500 --store model.sqlite --resume; one_line 'was begun by a program that judges otherwise \(model 99,'
# another commit, compiler or kernel is no other campaign, and is told
run 1 campaign "$lift" --trials 500 --json; cp out lift.json
cp lift.sqlite build.sqlite; sealed build.sqlite "UPDATE campaign SET made_by = 'another build'"
run 1 campaign "$lift" --trials 500 --json --store build.sqlite --resume
cmp -s out lift.json || fail "trials of another build give another result"
run 1 campaign "$lift" --trials 600 --store build.sqlite --resume
builds=$(/usr/bin/python3 -c 'import sqlite3; print(sqlite3.connect("build.sqlite").execute("SELECT made_by FROM campaign").fetchone()[0])')
[ "$(head -1 <<<"$builds")" = 'another build' ] && grep -q '^linkdrill .*, kernel ' <<<"$builds" || fail "who made the store: $builds"
holds all.sqlite
holds lift.sqlite
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
finish
