#!/usr/bin/env bash
# What each guard must do, in check, response and watchdog: one answer, exit statuses, keys and words.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
plants=$SOURCE/scenarios/log_debarker

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
# a distance from reduced speed: the same answer in check and response, with the reason where it does not count
/usr/bin/python3 - "$plants/guards.toml" <<'PYTHON' || fail "no plant"
import sys
text = open(sys.argv[1]).read()
own = 'distance = { edition = "2010", case = "interlocked-guard", reaching_through = "60 mm", there = "1100 mm" }'
inner = own.replace("1100 mm", "400 mm").replace(" }", ', from_speed = "reduced", after = "turning the selector slows the rollers down" }')
assert own in text and 'hazard_ends = "reduced-speed"\n' in text
for name, there in (("far", 1369), ("near", 1368)):
    outer = own.replace("60 mm", "10 mm").replace("1100 mm", f"{there} mm")
    open(name + ".toml", "w").write(text.replace(own, inner).replace('hazard_ends = "reduced-speed"\n', 'hazard_ends = "reduced-speed"\n' + outer + "\n"))
PYTHON
run 0 check far.toml
has 'the distance of pit_door counts from 130 mm/s, the reduced speed and what its monitor lets pass'
run 0 check far.toml --json
holds 'len(d["reckoned"]) == 2'
run 0 response far.toml --placings 100 --json --quiet
holds 'd["functions"][0]["distance_from"]["speed"] == "reduced" and d["functions"][0]["overall_ms"] == 15 + 94 + 85'
holds 'd["functions"][0]["limit_by"] == "distance" and d["functions"][0]["by_distance_ms"] == 212.5 and d["functions"][0]["there_mm"] == 400'
holds 'all("distance_from" not in f for f in d["functions"][1:])'
run 0 response far.toml --placings 100
has 'then braking from 130 mm/s'
has 'It counts from 130 mm/s'
run 1 check near.toml
has 'counts from full speed, not from reduced speed after "turning the selector slows the rollers down": speed_selector is 968 mm farther away'
run 1 response near.toml --placings 100 --json --quiet
holds 'd["functions"][0]["distance_from"]["speed"] == "full" and "968 mm" in d["functions"][0]["distance_from"]["why"]'
run 1 response near.toml --placings 100
has 'It counts from full speed'

# what the level of a function asks of the link's residual error, both receivers together
run 0 check "$plants/guards.toml" --json
holds 'd["residual"]["function"].startswith("opening the flap") and d["residual"]["sil"] == 2 and d["residual"]["share_per_hour"] == 1e-8'
holds 'all(abs(s["rate_per_hour"] - sum(r["methods"][i]["rate_per_hour"] for l in d["residual"]["links"] for r in l["receivers"])) < 1e-15 for i, s in enumerate(d["residual"]["sum"]))'
holds '[s["met"] for s in d["residual"]["sum"]] == [s["rate_per_hour"] < s["share_per_hour"] for s in d["residual"]["sum"]]'
run 0 check "$plants/guards.toml"
has 'Residual error of the link'
has 'links only; sensor, logic, drive and categories are not added up here'
sed -e 's/crc32_carried/weak/' "$plants/guards.toml" >weak.toml
sed -e '/^crc = /c crc = "CRC-16/IBM-3740"' profiles/crc32_carried.toml >profiles/weak.toml
run 0 check weak.toml
has "asks for SIL 2, and the link's residual error rate is over its share by the older and the newer and the rate limit methods, and no method keeps it"
run 0 watchdog "$plants/guards.toml" --json --from "20 ms" --to "90 ms" --step "10 ms" --quiet
holds 'all((p["overall_ms"] <= d["function"]["limit_ms"]) >= p["usable"] for p in d["points"])'
finish
