#!/usr/bin/env bash
# Values in the payload: what check, run, decode and report tell of them, and where they are refused.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
right=$SOURCE/scenarios/glass_table/speed_as_value.toml
exchanged=$SOURCE/scenarios/glass_table/speed_bytes_exchanged.toml

run 0 check "$right"
grep -q 'a value with another place, byte order' out || fail "what no measure sees: $(cat out)"
run 1 check "$exchanged"
tr -s ' \n' ' ' <out >flat
grep -q '12.5 mm/s is read as 3200 mm/s": NO MEASURE OF THE LINK SEES THIS' flat || fail "check: $(cat out)"
grep -q 'bytes 2 and 3, u16, low byte first, 0.1 mm/s a count' flat || fail "check without the place: $(cat out)"

run 0 run "$right" --out right
grep -q '^Values     allowed_speed, to table I/O: 12.5 mm/s to 40 mm/s in use, else 0 mm/s' out || fail "page: $(cat out)"
run 1 run "$exchanged" --out exchanged
tr -s ' \n' ' ' <out >flat
grep -q 'allowed_speed, 3200 mm/s instead of 12.5 mm/s' flat || fail "no danger told: $(cat out)"
/usr/bin/python3 - <<'PYTHON' || fail "the documents"
import json
result = json.load(open("right/result.json"))
allowed, measured = result["values"]
assert (allowed["name"], allowed["unit"], allowed["low"], allowed["high"]) == ("allowed_speed", "mm/s", 0, 60), allowed
assert (allowed["lowest_used"], allowed["highest_used"]) == (12.5, 40), allowed
assert allowed["out_of_range"] == 0 and allowed["towards_safe"] == 2 and allowed["slowest_ms"] < 140, allowed
assert measured["direction"] == "to-controller" and measured["substitute"] == 200, measured
line = json.load(open("right/timeline.json"))
first, second = line["values"]
assert (first["meant_at"], first["used_at"]) == ("controller", "device"), first
assert {row["value"] for row in first["meant"] if not row["substitute"]} == {25, 12.5, 40, 20}, first["meant"]
assert {row["value"] for row in first["changes"] if not row["substitute"]} == {25, 12.5, 40, 20}, first["changes"]
assert all(row["value"] == 0 for row in first["changes"] if row["substitute"]), first["changes"]
assert second["used_at"] == "controller" and len(second["changes"]) > 20, len(second["changes"])
wrong = json.load(open("exchanged/result.json"))
assert wrong["verdict"] == "dangerous" and wrong["values"][0]["highest_used"] == 3200, wrong["values"]
plant = json.load(open("right/plant.json"))
assert plant["values"][0]["use"] == "lowers the reduced speed of the table", plant["values"]
PYTHON
run 0 report right
for words in 'Values in the payload' 'uses allowed_speed 12.5 mm/s'; do
    grep -q "$words" right/report.html || fail "the report lacks: $words"
done
grep -q 'lowers the reduced speed of the table' right/link_sheet.html || fail "the link sheet lacks the values"

# A telegram: bytes, count and quantity as each end reads them.
run 0 decode exchanged/capture.pcapng --json
packet=$(/usr/bin/python3 -c '
import json
for t in json.load(open("out"))["telegrams"]:
    if t["direction"] == "to-device" and "00 7D" in t["bytes"]:
        print(t["packet"]); break')
run 0 decode exchanged/capture.pcapng --explain "$packet"
tr -s ' \n' ' ' <out >flat
grep -q 'allowed_speed, table I/O covered 00 7D count 32000' flat || fail "explain: $(cat out)"
run 0 decode exchanged/capture.pcapng --explain "$packet" --json
/usr/bin/python3 - <<'PYTHON' || fail "explained: $(cat out)"
import json
fields = {f["field"]: f for f in json.load(open("out"))["fields"]}
mine, theirs = fields["allowed_speed, table controller"], fields["allowed_speed, table I/O"]
assert mine["bytes"] == theirs["bytes"] == "00 7D", (mine, theirs)
assert mine["meaning"] == "count 125, 12.5 mm/s (u16, high byte first)", mine
assert theirs["meaning"] == "count 32000, 3200 mm/s (u16, low byte first)", theirs
PYTHON

# As another scenario has them: there the device has them as the controller does.
run 0 decode exchanged/capture.pcapng --explain "$packet" --scenario "$right"
tr -s ' \n' ' ' <out >flat
grep -q 'allowed_speed, table I/O covered 00 7D count 125, 12.5 mm/s' flat || fail "--scenario: $(cat out)"
run 2 decode exchanged/capture.pcapng --explain "$packet" --scenario "$profile"

# A campaign judges them too: every trial of the exchanged bytes is dangerous.
run 1 campaign "$exchanged" --trials 50 --out campaign
grep -q DANGEROUS out || fail "campaign: $(cat out)"

# Where nobody could say what was meant, or that nothing changes, they are refused.
run 2 run "$right" --live --out live
one_line 'speed_as_value.toml:[0-9]+: value\[1\]: is a value, and values are judged in virtual time only'
run 2 endurance "$right" --years 1
one_line 'value\[1\]: changes by itself'
finish
