#!/usr/bin/env bash
# Figures of a whole cell: campaign, endurance, residual and watchdog over all links of a file.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
mkdir -p cells
cp -r "$SOURCE/scenarios/profiles" .
cp "$SOURCE/scenarios/glass_line/cell.toml" cells/cell.toml
cell=cells/cell.toml

# key DOCUMENT EXPRESSION: what Python makes of it, with `d` the document.
key() { /usr/bin/python3 -c 'import json, sys; d = json.load(open(sys.argv[1])); print(eval(sys.argv[2]))' "$1" "$2"; }

# ---- campaign ----
run 0 campaign $cell --trials 300 --json --jobs 1; cp out whole.json
run 0 campaign $cell --trials 300 --json --jobs 2
cmp -s out whole.json || fail "another campaign on two threads"
[ "$(key whole.json '[l["name"] for l in d["by_link"]]')" = "['infeed', 'bridge', 'table', None]" ] ||
    fail "by_link: $(key whole.json 'd["by_link"]')"
[ "$(key whole.json 'sum(l["trials"] for l in d["by_link"])')" = 300 ] || fail "by_link does not add up"
[ "$(key whole.json 'all(sum(l[o.replace("-", "_")] for l in d["by_link"]) == d["outcomes"][o] for o in d["outcomes"])')" = True ] ||
    fail "outcomes by link do not add up"
[ "$(key whole.json 'min(f["met"] for f in d["functions"]) > 0')" = True ] || fail "a function is never shown"
run 0 campaign $cell --trials 300
grep -q '^ struck link ' out || fail "no table by link: $(cat out)"
grep -q 'controller, in all links' out || fail "no row of the controller's fault"
for columns in 60 100; do
    COLUMNS=$columns run 0 campaign $cell --trials 40
    [ "$(wc -L <out)" -le 100 ] || fail "a line is wider than 100 columns"
done

# In parts, stopped and gone on, with rows and without: the same bytes.
for keep in all summary; do
    rm -f part-*.sqlite joined.sqlite
    run 0 campaign $cell --trials 300 --shard 1/2 --keep $keep --store part-1.sqlite
    run 0 campaign $cell --trials 300 --shard 2/2 --keep $keep --store part-2.sqlite
    run 0 campaign $cell --merge part-1.sqlite part-2.sqlite --store joined.sqlite --json
    [ "$(key out 'd["digest"]')" = "$(key whole.json 'd["digest"]')" ] || fail "$keep: joined is another campaign"
    [ "$(key out 'd["by_link"]')" = "$(key whole.json 'd["by_link"]')" ] || fail "$keep: joined by link differs"
    run 0 campaign $cell --status part-1.sqlite part-2.sqlite
done
rm -f grown.sqlite
run 0 campaign $cell --trials 120 --store grown.sqlite
run 0 campaign $cell --trials 300 --store grown.sqlite --resume --json
cmp -s out whole.json || fail "gone on, it is another campaign"
# its store is neither that of one link nor of another cell, and theirs none of its
run 2 campaign $cell --link infeed --trials 300 --store grown.sqlite --resume
one_line 'grown.sqlite.*another scenario'
sed 's/^watchdog = "60 ms"/watchdog = "75 ms"/' $cell >cells/other.toml
run 2 campaign cells/other.toml --trials 300 --store grown.sqlite --resume
one_line 'grown.sqlite.*another scenario'
run 0 campaign $cell --trials 1000000 --plan
grep -q '^Run \|^A part ' out || fail "no plan: $(cat out)"

# Nobody starts a machine: nothing is shown, and it is said.
awk 'BEGIN { RS = ""; ORS = "\n\n" } !/does = "start-machine"/' $cell >cells/no_start.toml
run 0 campaign cells/no_start.toml --trials 60
[ "$(grep -c '^ *Not met once: "' out)" = 3 ] || fail "not said that nothing was shown: $(cat out)"
run 0 campaign $cell --trials 300
! grep -q 'Not met once' out || fail "said of functions that were met: $(cat out)"

# A stream without a bound makes no demand late: refused; with its delay declared it is tried.
awk '/^name = "infeed"/ { here = 1 } /^\[\[link\]\]/ { here = 0 } here { sub(/"polled"/, "\"streaming\"") } { print }' $cell >cells/stream.toml
run 2 campaign cells/stream.toml --trials 20
one_line '^cells/stream.toml:16: link\[1\]: "infeed" is a stream .* write one_way_delay in its \[link.limit\]'
run 0 campaign cells/stream.toml --link bridge --trials 20
sed '0,/^\[link\.required\]/s//[link.limit]\none_way_delay = "2 ms"\n&/' cells/stream.toml >cells/declared.toml
run 0 campaign cells/declared.toml --trials 20

# A machine that the guard's station no longer stops: dangerous, with its link, and each can be shown again.
awk '/^# The cable of the remote I\/O/ { exit } { print }' $cell >cells/frozen.toml
cat >>cells/frozen.toml <<'TOML'
[[fault]]
link = "infeed"
way = "frozen-data"
at_end = "device"
at = "17 s"
[[fault]]
link = "table"
error = "corruption"
way = "random-bits"
count = 3
at = "27 s"
TOML
run 1 campaign cells/frozen.toml --trials 200 --json; cp out frozen.json
[ "$(key frozen.json 'set(t["link"] for t in d["dangerous"])')" = "{'infeed'}" ] || fail "dangerous by another link"
[ "$(key frozen.json '[l["dangerous"] > 0 for l in d["by_link"]]')" = "[True, False, False]" ] ||
    fail "dangerous by link: $(key frozen.json 'd["by_link"]')"
repeat=$(key frozen.json 'd["dangerous"][0]["repeat"]')
# shellcheck disable=SC2086 # a command line
run 1 ${repeat#linkdrill }
grep -q '^DANGEROUS' out && grep -q '^Fault *link infeed' out || fail "$repeat: $(cat out)"
# shellcheck disable=SC2086
run 1 ${repeat#linkdrill } --json
[ "$(key out 'd["why"]')" = "$(key frozen.json 'd["dangerous"][0]["why"]')" ] || fail "the trial alone says another thing"
run 1 campaign cells/frozen.toml --trials 200
grep -q 'No trial struck bridge' out || fail "a link that nothing struck is not told: $(cat out)"

# ---- endurance ----
# limited NAME LIMIT: that cell with losses, each link allowed 100 a year, and that limit of the sum.
limited() {
    sed 's/^delay = { from = "0.3 ms", to = "0.8 ms" }/&\nloss = 0.02/
         s/^\[link\.required\]/[link.limit]\ntrips_per_year = 1e9\n&/' $cell >"cells/$1.toml"
    [ -z "$2" ] || printf '\n[limit]\ntrips_per_year = %s\n' "$2" >>"cells/$1.toml"
}
limited free ''
limited wide 1e9
limited tight 1e-3
run 0 endurance cells/free.toml --years 0.0003 --json; cp out free.json
[ "$(key free.json '(d["allowed_per_year"], d["sum_verdict"], d["allowed_stated"])')" = "(None, None, False)" ] ||
    fail "a limit of the sum that nobody stated"
[ "$(key free.json 'd["per_year"] > 0 and abs(d["per_year"] - sum(l["per_year"] for l in d["links"])) < 1e-9 * d["per_year"]')" = True ] ||
    fail "rates do not add up: $(key free.json 'd["per_year"]')"
[ "$(key free.json 'd["stops_most"] == max(d["links"], key=lambda l: l["per_year"])["name"]')" = True ] ||
    fail "most by another link"
run 0 endurance cells/wide.toml --years 0.0003 --json
[ "$(key out '(d["sum_verdict"], d["verdict"])')" = "('pass', 'pass')" ] || fail "wide: $(cat out)"
run 1 endurance cells/tight.toml --years 0.0003 --json
[ "$(key out '(d["sum_verdict"], d["verdict"], set(l["verdict"] for l in d["links"]))')" = "('fail', 'fail', {'pass'})" ] ||
    fail "tight: $(cat out)"
run 1 endurance cells/tight.toml --years 0.0003
tr -s '\n ' ' ' <out | grep -q 'over which the sum is' || fail "tight: $(cat out)"
printf '\n[limit]\none_way_delay = "5 ms"\n' | cat $cell - >cells/delay.toml
run 2 endurance cells/delay.toml --years 0.0003
one_line 'cells/delay.toml:[0-9]*: limit.one_way_delay: belongs to a link'
printf '\n[limit]\ntrips_per_year = 0\n' | cat $cell - >cells/zero.toml
run 2 check cells/zero.toml
one_line 'limit.trips_per_year'

# ---- residual ----
"$LINKDRILL" residual $cell --json >residual.json 2>err; status=$?
[ "$status" = "$(key residual.json '0 if d["met"] else 1')" ] || fail "residual: status $status, $(cat err)"
for name in infeed bridge table; do
    "$LINKDRILL" residual $cell --link $name --json >"$name.json" 2>err || [ $? = 1 ] || fail "residual --link $name"
done
/usr/bin/python3 - <<'PYTHON' || fail "residual sums"
import json

d = json.load(open("residual.json"))
alone = {n: json.load(open(n + ".json")) for n in ("infeed", "bridge", "table")}
assert [[l["name"] for l in f["links"]] for f in d["functions"]] == [["infeed", "bridge"], ["infeed", "bridge", "table"], ["table"]]
for f in d["functions"]:
    assert f["share_per_hour"] == 1e-8 and f["sil"] == 2, f
    for m in f["methods"]:
        total = sum(s["rate_per_hour"] for l in f["links"] for s in alone[l["name"]]["sum"] if s["name"] == m["name"])
        assert abs(m["rate_per_hour"] - total) <= 1e-12 * total, (f["name"], m, total)
        assert m["met"] == (total < 1e-8), m
    assert f["rate_per_hour"] == max(m["rate_per_hour"] for m in f["methods"])
    assert abs(f["rate_per_hour"] - sum(l["rate_per_hour"] for l in f["links"])) <= 1e-12 * f["rate_per_hour"]
    assert f["met"] == all(m["met"] for m in f["methods"])
PYTHON
run 1 residual $cell --method rate-limit --json
[ "$(key out 'set(f["method"] for f in d["functions"])')" = "{'rate limit'}" ] || fail "the method that decides: $(cat out)"
# without a level by the claim of its links, which is the same here
sed '/^level = /d' $cell >cells/no_level.toml
run 1 residual cells/no_level.toml --json; cp out by_claim.json
[ "$(key out '[(f["level"], f["sil"], f["met"], f["rate_per_hour"]) for f in d["functions"]]')" = \
    "$(key residual.json '[(None, f["sil"], f["met"], f["rate_per_hour"]) for f in d["functions"]]')" ] || fail "by the claim: $(cat out)"
run 1 residual cells/no_level.toml
tr -s '\n ' ' ' <out | grep -q '(SIL 2, the lowest that its links claim)' || fail "not said by which claim: $(cat out)"
sed '/^\[\[function\]\]/,/^\[\[operator\]\]/{/^\[\[operator\]\]/!d}' $cell >cells/no_function.toml
run 2 residual cells/no_function.toml
one_line 'cells/no_function.toml: function: is missing'
# a guard that reaches its machine with another one only: not met, whatever else is
sed '/^name = "bridge_may_cut"/,/^all_of/s/^all_of.*/any_of = ["curtain_free", "rope_free"]/' $cell >cells/any_of.toml
run 1 residual cells/any_of.toml --method rate-limit --json
[ "$(key out '(d["functions"][0]["met"], d["functions"][0]["why"])')" = "(False, 'its demands cross no link')" ] ||
    fail "any_of: $(cat out)"
run 1 residual cells/any_of.toml
grep -q '^NOT MET *interrupting the infeed curtain' out || fail "any_of: $(cat out)"
run 2 residual $cell --sil 2
one_line 'does not go with a scenario'

# ---- watchdog ----
run 0 watchdog $cell --json; cp out watchdog.json
run 0 watchdog $cell --link infeed --json; cp out infeed.json
[ "$(key watchdog.json 'd["links"][0]["window"]')" = "$(key infeed.json 'd["window"]')" ] || fail "another window than --link"
[ "$(key watchdog.json '[l["name"] for l in d["links"]]')" = "['infeed', 'bridge', 'table']" ] || fail "watchdog: links"
run 0 watchdog $cell
for name in infeed bridge table; do grep -q "^$name  *usable from" out || fail "no line of $name: $(cat out)"; done
grep -q 'do not hold together' out || fail "not said that each is found alone"
run 2 watchdog $cell --from '10 ms'
one_line -- '--from.*--link'
# one function that nothing keeps
sed 's/within = "450 ms"/within = "200 ms"/' $cell >cells/late.toml
run 1 watchdog cells/late.toml
grep -q '^NOT FOR EACH LINK' out || fail "late: $(cat out)"

# Each document fits its schema, and what is kept is the document.
run 0 campaign $cell --trials 20 --out kept --json
cmp -s out kept/campaign.json || fail "campaign.json is not the document"
cp whole.json campaign.1.json; cp frozen.json campaign.2.json; cp free.json cell_endurance.1.json
cp residual.json cell_residual.1.json; cp by_claim.json cell_residual.2.json; cp watchdog.json cell_watchdog.1.json
/usr/bin/python3 - "$SOURCE/tools/schema" <<'PYTHON' || fail "documents and schemas"
import glob, json, os, sys

import jsonschema

for path in glob.glob("*.[12].json"):
    schema = json.load(open(f"{sys.argv[1]}/{path.split('.')[0]}.schema.json"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(json.load(open(path)))
PYTHON
finish
