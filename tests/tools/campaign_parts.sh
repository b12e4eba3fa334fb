#!/usr/bin/env bash
# linkdrill campaign: parts and their joining, and which of them are there.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
. "$SOURCE/tests/tools/campaign.bash"

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
merge_refused 'part 2 of 3 is missing: name all parts' part1.sqlite part3.sqlite
merge_refused 'parts 2, 3 of 3 are missing: name all parts' part1.sqlite
merge_refused 'part 3 of 3 is missing: name all parts; short.sqlite has 1335 of its 1667 trials' part1.sqlite short.sqlite
merge_refused 'is part 2/3 once more' part1.sqlite part2.sqlite part3.sqlite short.sqlite
merge_refused 'is named twice' part1.sqlite part1.sqlite part2.sqlite
merge_refused 'name parts of one campaign' part1.sqlite other.sqlite part3.sqlite
merge_refused 'holds trials of seed 9' part1.sqlite seed9.sqlite part3.sqlite
merge_refused 'has 1335 of its 1667 trials: let the command that writes each end' part1.sqlite short.sqlite part3.sqlite
merge_refused 'is not there' part1.sqlite nowhere.sqlite part3.sqlite
head -c 3000 /dev/urandom >noise.sqlite
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
    merge_refused "left.sqlite-$log lies beside it\\): let the command that writes each end, or give it once more with --resume" part1.sqlite left.sqlite part3.sqlite
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

# Which parts are there, how far, and which are missing.
run 0 campaign "$good" --status part1.sqlite part2.sqlite part3.sqlite
grep -q '^COMPLETE  .*: 5 000 of 5 000 trials, 3 of 3 parts finished' out || fail "--status: $(cat out)"
cp part2.sqlite short.sqlite && chmod 644 short.sqlite
sealed short.sqlite 'DELETE FROM trial WHERE trial > 3000'
run 1 campaign "$good" --status short.sqlite part1.sqlite
grep -q '^Missing     part 3\.' out && grep -q '^Unfinished  part 2, short.sqlite: 1 335 of 1 667 trials, stopped' out || fail "--status: $(cat out)"
"$LINKDRILL" campaign "$good" --trials 300000000 --shard 3/3 --quiet --keep summary --store busy.sqlite >/dev/null 2>&1 &
alive=$!
run 130 campaign "$good" --trials 300000000 --shard 2/3 --quiet --keep summary --store ahead.sqlite --until 1.5s
run 1 campaign "$good" --json --status busy.sqlite ahead.sqlite; cp out alive.json
kill -9 $alive; wait $alive 2>/dev/null
run 1 campaign "$good" --json --status busy.sqlite ahead.sqlite
/usr/bin/python3 - <<'PYTHON' || fail "the document of --status: $(cat alive.json out)"
import json
alive, killed = json.load(open("alive.json")), json.load(open("out"))
for status, state in ((alive, "being-written"), (killed, "killed")):
    assert not status["complete"] and status["missing"] == [1] and status["parts"] == 3, status
    assert {(u["part"], u["state"]) for u in status["unfinished"]} == {(2, "stopped"), (3, state)}, status
    assert all(0 < u["done"] < u["trials"] == 100000000 for u in status["unfinished"]), status
PYTHON

# A join holds one part open at a time, and names all that is in its way at once.
run 0 campaign "$good" --trials 300 --json; cp out whole.json
mkdir many
for k in $(seq 60); do
    run 0 campaign "$good" --trials 300 --shard $k/60 --quiet --keep summary --store many/$k.sqlite
done
(ulimit -n 16; exec "$LINKDRILL" campaign "$good" --json --merge many/*.sqlite >out 2>err) || fail "a join with few descriptors: $(cat err)"
cmp -s out whole.json || fail "sixty parts joined give another result"
rm many/7.sqlite many/8.sqlite many/9.sqlite many/31.sqlite
merge_refused 'parts 7 to 9, 31 of 60 are missing: name all parts' many/*.sqlite
# blocks that were exchanged, or are of another part, are refused and not joined
run 0 campaign "$good" --trials 140000 --keep summary --store blocks.sqlite
for change in 'UPDATE block SET number = 9 WHERE number = 1' 'UPDATE block SET number = 7 WHERE number = 2' \
    'UPDATE block SET trials = trials + 1 WHERE number = 1' 'DELETE FROM block WHERE number = 0'; do
    cp blocks.sqlite bent.sqlite
    alter bent.sqlite "$change"
    run 2 campaign "$good" --merge bent.sqlite; one_line 'was altered since it was written: the blocks of its trials do not fit'
done
# what was not kept cannot be joined into a store of more
run 0 campaign "$good" --trials 300 --shard 1/2 --store rows.sqlite
run 0 campaign "$good" --trials 300 --shard 2/2 --keep summary --store sums.sqlite
run 2 campaign "$good" --merge rows.sqlite sums.sqlite --keep all --store more.sqlite; one_line 'sums.sqlite keeps summary only; write --keep summary'
run 0 campaign "$good" --json --merge rows.sqlite sums.sqlite --store more.sqlite
cmp -s out whole.json || fail "parts of two kinds joined give another result"
run 0 campaign "$good" --trials 300 --json --store more.sqlite --keep summary --resume
cmp -s out whole.json || fail "a joined store without rows gives another result"
finish
