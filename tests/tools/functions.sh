#!/usr/bin/env bash
# What each guard must do, in check, response and watchdog: one answer, exit statuses, keys and words.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
plants=$SOURCE/scenarios/log_debarker

# holds EXPRESSION: standard output is one JSON document d, and the expression is true of it.
holds() {
    /usr/bin/python3 - "$1" out <<'PYTHON' || fail "$1: $(head -c 600 out)"
import json, sys
d = json.load(open(sys.argv[2]))
sys.exit(0 if eval(sys.argv[1]) else 1)
PYTHON
}
# has TEXT: standard output has it, however its lines are wrapped.
has() { tr -s ' \n' '  ' <out | grep -qF -- "$1" || fail "lacks '$1': $(cat out)"; }

run 0 check "$plants/guards.toml"
has 'Guards, by wiring'
grep -Eq '^ +flap +rollers +category-0 +category-0 +SIL 2' out || fail "no row of the flap"
run 0 check "$plants/guards.toml" --json
holds 'd["ok"] and d["problems"] == [] and len(d["functions"]) == 4 and "settings" not in d'
holds 'all(f["stated"] and f["ok"] and f["does"] == f["must"] and f["machine"] == "rollers" for f in d["functions"])'
run 0 check "$plants/guards.toml" --all --json
holds 'len(d["settings"]) == d["compared"] and all(s["same"] for s in d["settings"])'
holds '{"setting": "watchdog", "controller": "45 ms", "device": "45 ms", "same": True}.items() <= [s for s in d["settings"] if s["setting"] == "watchdog"][0].items()'

run 1 check "$plants/forgotten_guard.toml"
grep -q '^ENDS AGREE, BUT' out || fail "agrees"
has 'reaches no reaction of rollers'
run 1 check "$plants/exchanged_reactions.toml" --json
holds 'any(not f["ok"] and f["does"] != f["must"] and f["why"] for f in d["functions"])'
run 1 check "$plants/reduced_speed_only.toml"
has 'a failing link leads to no more than a reduced speed of rollers'

# response says of the same plants what check says
run 0 response "$plants/guards.toml" --placings 100 --json --quiet
holds 'd["met"] and [f["name"] for f in d["functions"]] and all(f["met"] for f in d["functions"])'
holds 'd["functions"][0]["safeguard"] == "pit_door" and d["functions"][0]["within_ms"] == 600 and d["functions"][0]["limit_by"] == "within"'
holds 'd["functions"][0]["left_for_link_ms"] == 600 - 15 - d["functions"][0]["stopping_ms"]'
holds '[f["hazard_ends"] for f in d["functions"]] == ["standstill", "standstill", "reduced-speed"]'
for plant in forgotten_guard reduced_speed_only; do
    run 1 response "$plants/$plant.toml" --placings 100 --quiet
    grep -q '^NOT KEPT' out || fail "$plant: kept"
done

cp -r "$SOURCE/scenarios/profiles" .
run 0 watchdog "$plants/guards.toml" --json --from "20 ms" --to "90 ms" --step "10 ms" --quiet
holds 'all((p["overall_ms"] <= d["function"]["limit_ms"]) >= p["usable"] for p in d["points"])'
finish
