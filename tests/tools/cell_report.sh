#!/usr/bin/env bash
# What is handed over of a whole cell: one report over all links, a link sheet for each, one acceptance sheet.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cell=$SOURCE/scenarios/glass_line/cell.toml
papers="acceptance_sheet.html acceptance_sheet.md link_sheet_1.html link_sheet_1.md link_sheet_2.html link_sheet_2.md"
papers+=" link_sheet_3.html link_sheet_3.md report.html"

# lacks_none FILE WORDS...: each stands in it, once line breaks are blanks
lacks_none() {
    local file=$1 words
    shift
    tr '\n' ' ' <"$file" >one_line.txt
    for words in "$@"; do grep -qE -- "$words" one_line.txt || fail "$file lacks: $words"; done
}

run 0 run "$cell" --out demo
mkdir left && for paper in $papers; do cp "demo/$paper" left/ || fail "run left no $paper"; done
run 0 report demo --json
for paper in $papers; do cmp -s "left/$paper" "demo/$paper" || fail "$paper: report does not repeat run"; done
/usr/bin/python3 -c 'import json
d = json.load(open("out"))
assert sorted(f.split("/")[1] for f in d["files"]) == "'"$papers"'".split(), d["files"]
assert d["verdict"] == "pass" and len(d["gathered"]) == 9, d["gathered"]' || fail "what report says"

# Verdict, functions, links and injections come first, in this order; then an entry for each link.
lacks_none demo/report.html 'PASS.*What each guard must do.*Each link: how it is set.*What was injected into which link.*What each demand showed.*Cautions.*id="link-1".*id="link-2".*id="link-3"' \
    '4 injected, 4 as expected, 0 dangerous' 'pulling the rope stops bridge and table' 'data-chart="timeline"' 'data-chart="timeline-3"' \
    'infeed: curtain_free' 'bridge: bridge_may_cut' 'bridge stood after [0-9.]+ of [0-9.]+ ms; table stood after' 'line controller, a scan every 5 ms'
/usr/bin/python3 -c 'import collections, re
page = re.sub(r"<script.*?</script>", "", open("demo/report.html").read(), flags=re.S)
ids = collections.Counter(re.findall(r" id=\"([^\"]*)\"", page))
assert len(ids) > 20 and not [i for i, n in ids.items() if n > 1], ids.most_common(3)' || fail "two elements with one id"
# Each link's sheet has what its own ends are typed, and no bit of another link.
lacks_none demo/link_sheet_2.html 'bridge drive' '0x0112 \(274\)' 'bridge_may_cut, to bridge drive' 'bridge: stop, category 1' 'scan of the end</th><td[^>]*>5 ms<'
grep -qE 'curtain_free, to|table_may_run, to' demo/link_sheet_2.html && fail "bits of another link"
lacks_none demo/link_sheet_1.html 'curtain_free, to line controller' 'bridge_may_cut falls to 0'
# The acceptance sheet has the whole way of each guard to each machine, and what passes there.
lacks_none demo/acceptance_sheet.html 'rope at infeed I/O &gt; link infeed &gt; line controller &gt; link table &gt; table drive &gt; table' \
    'infeed I/O: infeed_curtain 0, curtain_free sent 0; bridge drive: bridge_may_cut 0' 'curtain_free 0, bridge_may_cut sent 0' \
    'drive of the table' 'table goes on: it does not hang on this link'
grep -q 'FAIL' demo/acceptance_sheet.md && fail "a plant that is right fails its own sheet: $(grep -m2 FAIL demo/acceptance_sheet.md)"
/usr/bin/python3 - <<'PYTHON' || fail "acceptance.json"
import json
a, r = json.load(open("demo/acceptance.json")), json.load(open("demo/result.json"))
timed = [row for row in a["rows"] if row["stage"] == "At full speed"]
assert [(row["safeguard"], row["machine"].split()[0]) for row in timed] == [
    ("infeed_curtain", "bridge"), ("rope", "bridge"), ("rope", "table"), ("table_flap", "table")], timed
for row in timed:
    assert row["rehearsal_passes"] is True and row["times"] == 10, row
    # rehearsed over all links, so longer than the machine's own stop, and within what is allowed
    assert 200 < row["rehearsed_ms"] < row["by_settings_ms"] <= row["allowed_ms"] <= 500, row
assert all(row["rehearsal_passes"] is not False for row in a["rows"])
cuts = [row for row in a["rows"] if "pull the network plug" in row["do"]]
assert len(cuts) == 6 and sum("goes on" in row["machine"] for row in cuts) == 2, cuts
for row in cuts:
    if row["clock"]:
        assert row["rehearsed_ms"] <= row["allowed_ms"], row
# one watchdog, not two: the bridge's own cable, and that of the infeed
assert [row["allowed_ms"] for row in cuts if "time the bridge" in row["do"]] == [296.2, 263.8], cuts
for row in timed:
    assert row["reckoned"].startswith(f"function {row['function']}: "), row
PYTHON

# What else was reckoned joins in: of the whole cell, and of one link by its name.
run 0 response "$cell" --out demo --placings 200 --quiet
run 0 watchdog "$cell" --link infeed --out demo --quiet
[ -e demo/watchdog_infeed.json ] || fail "no document of the link: $(ls demo)"
run 0 watchdog "$cell" --link bridge --out demo --quiet
"$LINKDRILL" residual "$cell" --link table --out demo --quiet >out 2>err || [ $? = 1 ] || fail "residual: $(cat err)"
run 0 report demo
lacks_none demo/report.html 'USABLE FROM 12 ms TO 42.5 ms.*USABLE FROM' 'From the demand on' 'both receivers added up' 'data-picture="watchdog-2"'
lacks_none demo/link_sheet_1.html 'Usable from 12 ms to 42.5 ms'
run 0 endurance "$cell" --years 0.001 --out demo --quiet
run 0 endurance "$cell" --years 0.001 --link bridge --out demo --quiet
"$LINKDRILL" residual "$profile" --out demo --quiet >out 2>err || [ $? = 1 ] || fail "residual: $(cat err)"
run 0 report demo
lacks_none demo/report.html 'Years simulated' 'What endurance.json says of all links together' 'data-chart="residual"' 'Rehearsed on a desk'
# of all links together it is only said that it is not shown, and if it is bad news, that too
run 0 watchdog "$cell" --out demo --quiet
"$LINKDRILL" residual "$cell" --out demo --quiet >out 2>err || [ $? = 1 ] || fail "residual: $(cat err)"
run 0 report demo
lacks_none demo/report.html 'What watchdog.json says of all links together is not shown' \
    'What cell_residual.json says of all links together, which is NOT MET, is not shown' 'linkdrill watchdog --link NAME'
# A campaign over the whole cell stands beside the run's verdict, with each of its dangers.
run 0 campaign "$cell" --trials 20 --out demo --quiet
run 0 report demo
lacks_none demo/report.html 'Campaign: PASS, 20 trials, 0 dangerous, 0 late' 'id="campaign"' 'by error, in the campaign'
grep -q 'id="dangers"' demo/report.html && fail "dangers where there are none"
/usr/bin/python3 - <<'PYTHON'
import json
d = json.load(open("demo/campaign.json"))
d["verdict"] = "dangerous"
d["outcomes"]["dangerous"] = 9
d["dangerous_not_listed"] = 7
d["dangerous"] = [{"trial": 4, "seed": 5, "error": "corruption", "why": "a wrong value was used", "repeat": "linkdrill one",
                   "link": "bridge"},
                  {"trial": 6, "seed": 7, "error": None, "why": "used too late", "repeat": "linkdrill two", "link": None}]
json.dump(d, open("demo/campaign.json", "w"))
PYTHON
run 0 report demo
lacks_none demo/report.html 'Campaign: DANGEROUS, 20 trials, 9 dangerous' 'id="dangers".*campaign, link bridge, trial 4.*corruption: a wrong value was used.*linkdrill one.*campaign, all links, trial 6.*linkdrill two.*7 more, which are not listed'
rm demo/campaign.json
# of another content nothing is mixed in
sed 's/^watchdog = "60 ms"/watchdog = "75 ms"/' "$cell" >other.toml
mkdir -p profiles && cp -r "$SOURCE"/scenarios/profiles . 2>/dev/null
run 0 run "$cell" --out mixed --quiet
cp demo/watchdog_infeed.json mixed/
sed -i 's/"scenario_fingerprint": "0x[0-9A-F]*"/"scenario_fingerprint": "0x1"/' mixed/watchdog_infeed.json
run 2 report mixed; one_line 'watchdog_infeed.json and result.json differ in the scenario.s content'
rm mixed/watchdog_infeed.json
sed 's/"scenario_fingerprint": "0x[0-9A-F]*"/"scenario_fingerprint": "0x1"/' demo/watchdog.json >mixed/watchdog.json
run 2 report mixed; one_line 'watchdog.json and result.json differ in the scenario.s content'
rm mixed/watchdog.json mixed/plant_2.json
run 2 report mixed; one_line 'holds no plant_2.json'
run 0 run "$cell" --out mixed --quiet
sed -i 's/"stops": [0-9]*/"stops": "many"/' mixed/result.json
run 2 report mixed; one_line 'mixed/result.json'

# A cell whose ends differ: its sheets say so.
"$LINKDRILL" run "$SOURCE/scenarios/glass_line/exchanged_stations.toml" --out differ --quiet >out 2>err || [ $? = 1 ] || fail "$(cat err)"
lacks_none differ/link_sheet_2.html 'THE ENDS AS WRITTEN DIFFER'
lacks_none differ/report.html 'NEVER RAN' 'NOT EVERY LINK RAN'
finish
