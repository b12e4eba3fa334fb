#!/usr/bin/env bash
# measures: statuses, keys, bad input, the same with any number of processors, the evidence; and check of a profile.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0 measures --trials 12 --json
# on a slow machine it may say how far it is
grep -vE '^measures: [0-9]+ %' err && fail "says something on standard error: $(cat err)"
holds 'all({"error", "measure", "trials", "detected", "simulated", "published", "agrees", "why"} <= set(c) for c in d["cells"])'
holds 'len({(c["error"], c["measure"]) for c in d["cells"]}) == len(d["cells"]) == 64'
holds 'all(c["trials"] == 12 and 0 <= c["detected"] <= 12 and sum(w["trials"] for w in c["ways"]) == 12 for c in d["cells"])'
holds 'all(sum(w["detected"] for w in c["ways"]) == c["detected"] for c in d["cells"])'
holds 'all(set(c["published"]) == {"IEC 62541-15", "IEC 61784-3", "EN 50159"} for c in d["cells"])'
holds 'all(p in (True, False, None) for c in d["cells"] for p in c["published"].values())'
# agrees says what it says, and no cell that differs is without a reason
holds 'all(c["simulated"] is (c["detected"] == c["trials"]) for c in d["cells"])'
holds 'all(c["agrees"] == (None if not [p for p in c["published"].values() if p is not None] else all(p in (None, c["simulated"]) for p in c["published"].values())) for c in d["cells"])'
holds 'all(c["why"] for c in d["cells"] if c["agrees"] is False or c["caught"] == "some")'
holds 'd["sound"] and d["explained"] and d["seed"] == 1 and d["trials"] == 12 and d["profile"] is None'
holds 'all(w["why"] for w in d["without"] if not w["covered"]) and any(not w["covered"] for w in d["without"])'
holds 'len(d["without"]) == 64 and len(d["whole"]) == 8 and all(w["covered"] for w in d["whole"])'
cp out one

# --jobs changes nothing, the seed does
run 0 measures --trials 12 --json --jobs 1
cmp -s out one || fail "--jobs 1 gives another document"
run 0 measures --trials 12 --json --jobs 3
cmp -s out one || fail "--jobs 3 gives another document"
run 0 measures --trials 12 --json --seed 2
cmp -s out one && fail "another seed gives the same document"

# for people: verdict first, at most 100 columns, lists where a table does not fit
run 0 measures --trials 5
grep -q '^EXPLAINED  ' out || fail "no verdict word first: $(head -1 out)"
[ "$(wc -L <out)" -le 100 ] || fail "too wide"
grep -q '^corruption  ' out || fail "no matrix"
run 0 measures --trials 5 --quiet
[ "$(wc -l <out)" -le 2 ] || fail "--quiet says more than its first sentence"

# a profile: polled and streaming where it can be both, each measure left out in turn
for file in "$SOURCE"/scenarios/profiles/*.toml; do
    run 0 measures "$file" --trials 4
    [ "$(wc -L <out)" -le 100 ] || fail "too wide"
done
run 0 measures "$profile" --trials 8 --json
holds '{c["exchange"] for c in d["cells"]} == {"polled", "streaming"} and d["profile"] == "crc32_carried"'
holds 'not [c for c in d["cells"] if c["measure"] in ("time-stamp", "cross-check")]'
holds '{w["without"] for w in d["without"] if w["exchange"] == "polled"} == {"integrity", "authentication", "time-expectation", "different-integrity"}'
holds 'all(w["as_in_table_2"] == w["detected"] for w in d["whole"] if w["exchange"] == "polled")'
run 0 measures "$SOURCE/scenarios/profiles/crc32_feedback.toml" --trials 4 --json
holds '{c["exchange"] for c in d["cells"]} == {"streaming"}'

# bad input: one line, status 2
bad() {
    local pattern=$1
    shift
    run 2 measures "$@"
    one_line "$pattern"
    [ -s out ] && fail "something on standard output: measures $*"
}
bad 'no such file' none.toml
bad 'is a scenario; name the file of a telegram profile' "$good"
for trials in 0 -1 10001 1e3 '' many 99999999999999999999; do
    bad '--trials: ' --trials "$trials"
done
bad '--jobs: ' --jobs 0
sed 's/bits = 16 }/bits = 1 }/' "$profile" >narrow.toml
bad 'narrow.toml: sequence: no link can run without a number of 2 bits' narrow.toml
sed '/^crc/d' "$profile" >bare.toml
bad 'bare.toml.*crc' bare.toml
sed 's/^crc.*/crc = "none"/' "$profile" >none_at_all.toml
bad 'none_at_all.toml:[0-9]+: crc: "none" exists only' none_at_all.toml
sed 's/time_stamp.*/time_stamp = { bits = 8, unit = "0.1 ms" }/' "$SOURCE/scenarios/profiles/crc32_stamped.toml" >soon.toml
bad 'soon.toml: time_stamp: ' soon.toml
cat >zeros.toml <<'TOML'
sequence = { presence = "carried", bits = 8 }
crc = "CRC-16/ARC"
TOML
bad 'zeros.toml: crc: a good telegram can be nothing but zeros' zeros.toml
run 0 check zeros.toml --json
holds 'len(d["cautions"]) == 1 and "zero_as_one = true" in d["cautions"][0]'
sed '$ a zero_as_one = true' zeros.toml >ones.toml
run 0 measures ones.toml --trials 4
"$LINKDRILL" measures none.toml --json >out 2>err
holds 'd["error"]["file"] == "none.toml"'

# the evidence
run 0 measures --trials 3 --out kept
[ -s kept/measures.txt ] && [ -s kept/measures.json ] || fail "the evidence is not there: $(ls -A kept)"
run 0 measures --trials 3 --json
cmp -s out kept/measures.json || fail "the evidence is another document"
mkdir foreign && echo mine >foreign/notes
run 3 measures --trials 3 --out foreign
[ "$(ls foreign)" = notes ] || fail "a foreign folder was written to"

# check says by design what the study finds
run 0 check "$profile"
grep -q '^No measure of this telegram sees, by design' out || fail "check says nothing of it: $(cat out)"
grep -q '^    delay  .*in a stream' out || fail "check is silent about delay in a stream"
run 0 check "$profile" --json
holds 'any("65536 numbers" in u for u in d["undetectable"]) and any("in a stream" in u for u in d["undetectable"])'
run 0 check "$SOURCE/scenarios/profiles/crc32_feedback.toml" --json
holds 'not any("in a stream" in u for u in d["undetectable"])'
finish
