#!/usr/bin/env bash
# The commands response and distance: exit statuses, keys of their documents, and what they say about wrong input.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

# keys KEY...: the document in $work/out has exactly one JSON value with these keys.
keys() {
    /usr/bin/python3 - "$work/out" "$@" <<'PY' || fail "keys: $*"
import json, sys
document = json.load(open(sys.argv[1]))
for key in sys.argv[2:]:
    value = document
    for part in key.split("."):
        assert part in value, key
        value = value[part]
PY
}
# expression EXPRESSION: true of the document d.
expression() {
    /usr/bin/python3 -c 'import json, sys
d = json.load(open(sys.argv[1]))
assert eval(sys.argv[2]), d' "$work/out" "$1" 2>"$work/why" || fail "$1: $(tail -1 "$work/why")"
}

# ---- distance ----
curtain=(distance --edition 2010 --case right-angle --resolution "14 mm")
run 0 "${curtain[@]}" --time "90 ms"
grep -q '^180 mm  needed' out || fail "no 180 mm"
grep -qF '2000 mm/s * 90 ms' out || fail "no formula"
run 0 "${curtain[@]}" --time "90 ms" --json
keys edition case needed_mm formula
expression 'd["needed_mm"] == 180 and d["edition"] == "2010" and d["case"] == "right-angle"'
run 0 distance --edition 2010 --case right-angle --resolution "14 mm" --time "90.0001 ms" --json
expression 'd["needed_mm"] == 180.0002 and d["needed_whole_mm"] == 181'
run 0 "${curtain[@]}" --time "300 ms" --there "500 mm"
run 1 "${curtain[@]}" --time "313 ms" --there "500 mm"
grep -q '^TOO NEAR' out || fail "not too near"
run 0 "${curtain[@]}" --there "500 mm" --json
expression 'd["longest_overall_ms"] == 312.5 and d["met"] is None'
for edition in 2010 2024; do
    run 0 distance --edition $edition --case multi-beam --time "0.1 s" --json;  expression 'd["needed_mm"] == 1010'
    run 0 distance --edition $edition --case single-beam --time "0.1 s" --json; expression 'd["needed_mm"] == 1360'
    run 0 distance --edition $edition --case mat --time "0.1 s" --json;         expression 'd["needed_mm"] == 1360'
    run 0 distance --edition $edition --case interlocked-guard --reaching-through "20 mm" --time "0.1 s" --json
    expression 'd["needed_mm"] == 180'
done
run 0 distance --edition 2010 --case two-hand --time "0.1 s" --json; expression 'd["needed_mm"] == 410'
run 0 distance --edition 2024 --case two-hand --time "0.1 s" --json; expression 'd["needed_mm"] == 710'
run 0 distance --edition 2010 --case parallel --height "300 mm" --time "0.1 s" --json; expression 'd["needed_mm"] == 1240'
run 0 distance --edition 2024 --case parallel --height "300 mm" --time "0.1 s"
grep -q 'commentary only' out || fail "the edition of 2024 does not say where it is known from"
grep -q 'crawl' out || fail "no caution about crawling"

run 2 distance;                                                   one_line '^linkdrill: --edition: missing'
run 2 distance --edition 2010;                                    one_line '^linkdrill: --case: missing'
run 2 distance --edition 2005 --case mat --time "1 ms";           one_line '^linkdrill: --edition: "2005"'
run 2 distance --edition 2010 --case mats --time "1 ms";          one_line 'nearest is "mat"'
run 2 distance --edition 2010 --case mat;                         one_line '^linkdrill: --time: missing'
run 2 distance --edition 2010 --case mat --time 90;               one_line '^linkdrill: --time: "90" has no unit'
run 2 distance --edition 2010 --case mat --time "-9 ms";          one_line '^linkdrill: --time: "-9 ms" is negative'
run 2 distance --edition 2010 --case mat --time "61 min";         one_line '^linkdrill: --time: .*over an hour'
run 2 "${curtain[@]:0:5}" --resolution "-14 mm" --time "90 ms";   one_line '^linkdrill: --resolution: "-14 mm" is negative'
run 2 "${curtain[@]:0:5}" --time "90 ms";                         one_line '^linkdrill: --resolution: is missing'
run 2 "${curtain[@]:0:5}" --resolution "71 mm" --time "90 ms";    one_line '^linkdrill: --resolution: .*over 70 mm'
run 2 "${curtain[@]}" --there "99 mm";                            one_line '^linkdrill: --there: 99 mm is too short'
run 2 distance --edition 2010 --case parallel --time "1 ms" --height "1001 mm"; one_line '^linkdrill: --height: '
run 2 distance --edition 2010 --case mat --time "1 ms" --height "1 mm"; one_line '^linkdrill: --height: means nothing'
run 2 "${curtain[@]}" --there "99 mm" --json
expression 'd["error"]["key"] == "--there"'

# ---- response ----
run 0 response "$good" --placings 1000
grep -q '^FAR ENOUGH' out || fail "not far enough: $(head -1 out)"
[ "$(wc -L <out)" -le 100 ] || fail "a line is too wide"
run 0 response "$good" --placings 1000 --json --jobs 1
keys parts response_ms stopping_ms overall_ms worst_seen_ms distance.edition distance.case distance.formula \
    distance.needed_mm there_mm spare_mm met longest_watchdog_ms
expression 'd["met"] is True and d["overall_ms"] == d["response_ms"] + d["stopping_ms"]'
expression 'd["worst_seen_ms"] <= d["response_ms"]'
expression 'sum(p["delay_ms"] for p in d["parts"]) + max(p["watchdog_ms"] - p["delay_ms"] for p in d["parts"]) == d["response_ms"]'
expression '[p for p in d["parts"] if p["name"] == "link"][0]["watchdog_ms"] == 2 * 45 + 2'
expression 'all(p["source"] for p in d["parts"])'
cp out first
run 0 response "$good" --placings 1000 --json --jobs 3
cmp -s out first || fail "three threads, another result"

cp -r "$SOURCE/scenarios/profiles" .
sed 's/^there = .*/there = "480 mm"/' "$good" >near.toml
run 1 response near.toml --placings 200
grep -q '^TOO NEAR' out || fail "not too near: $(head -1 out)"
run 1 response near.toml --placings 200 --json
expression 'd["met"] is False and d["spare_mm"] == -4'
# the watchdog that is told is enough, and a microsecond more is not
sed 's/^to_device = .*/to_device = "900 ms"/; s/^watchdog = .*/watchdog = "86.5 ms"/' "$good" >at_limit.toml
run 0 response at_limit.toml --placings 200 --json
expression 'd["longest_watchdog_ms"] == 86.5 and d["spare_mm"] == 0'
sed 's/^watchdog = .*/watchdog = "86.501 ms"/' at_limit.toml >over_limit.toml
run 1 response over_limit.toml --placings 200

run 1 response "$differ" --placings 200
grep -q 'does not start' out || fail "a link that does not start: $(head -2 out)"
run 2 response "$profile";                       one_line 'is a telegram profile'
run 2 response none.toml;                        one_line '^none.toml: '
run 2 response "$good" --placings 5;             one_line '^linkdrill: --placings: '
sed 's/^there = .*/there = "90 mm"/' "$good" >short.toml
run 2 response short.toml;                       one_line '^short.toml:[0-9]+: distance.there: 90 mm is too short'
printf '\n[stopping]\nmeasured = "stops.csv"\n' | cat "$good" - >measured.toml
run 2 response measured.toml;                    one_line '^stops.csv: is no file'
printf 'stopping_ms\n118\n' >stops.csv
run 2 response measured.toml;                    one_line '^stops.csv: holds 1 stopping time'
{ echo stopping_ms; for i in 1 2 3 4 5 6 7 8 9 10; do echo "11$((i % 10))"; done; } >stops.csv
run 0 response measured.toml --placings 200 --json
expression 'd["stopping_ms"] > 119 and d["stopping_ms"] < 130'
echo fast >>stops.csv
run 2 response measured.toml;                    one_line '^stops.csv:12: stopping_ms: "fast"'
# a rehearsal's page tells the distance too
run 0 run "$good" --out good
grep -q '^Distance   484 mm needed (ISO 13855:2010, right-angle, 14 mm), 520 mm there: 36 mm to spare\.$' out ||
    fail "run tells no distance"
[ -e linkdrill-out ] && fail "response left something behind"
finish
