#!/usr/bin/env bash
# The command watchdog: usable window or what would open one, exit status, keys, bad ranges, the same with any --jobs.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cp -r "$SOURCE/scenarios/profiles" .

# plant THERE CHANNEL...: a press with a curtain so far away
plant() {
    local there=$1
    shift
    cat <<TOML
title = "Press"
duration = "1 s"
[link]
exchange = "polled"
profile = "crc32_carried"
cycle = "10 ms"
watchdog = "45 ms"
[controller]
address = 1
[device]
address = 2
[[safeguard]]
name = "curtain"
at = "controller"
delay = "20 ms"
[[signal]]
name = "free"
direction = "to-device"
all_of = ["curtain"]
[bits]
free = "0.0"
[machine]
name = "press"
at = "device"
reaction_delay = "10 ms"
speed = "60 mm/s"
braking = "600 mm/s2"
reaction = [{ signal = "free", stop = "category-0" }]
[distance]
edition = "2010"
safeguard = "curtain"
case = "right-angle"
resolution = "14 mm"
there = "$there"
[channel]
delay = { from = "0.2 ms", to = "0.4 ms" }
TOML
    printf '%s\n' "$@"
}

plant "700 mm" "loss = 1e-4" >open.toml
run 0 watchdog open.toml
grep -q '^USABLE FROM 40 ms TO ' out || fail "no window: $(head -3 out)"
grep -q 'stops a year' out || fail "no chart"
[ "$(wc -L <out)" -le 100 ] || fail "wider than 100 columns"
run 0 watchdog open.toml --quiet
[ -s err ] && fail "--quiet says something on standard error"
run 0 watchdog open.toml --json --from "15 ms" --to "95 ms" --step "10 ms" --jobs 1
holds 'len(d["points"]) == 9 and d["window"]["from_ms"] == 40 and d["window"]["from_ms"] <= d["window"]["suggested_ms"] <= d["window"]["to_ms"]'
holds 'all(set(p) >= {"watchdog_ms","trips_per_year","low","high","method","response_ms","overall_ms","needed_mm","spare_mm","usable","why"} for p in d["points"])'
holds 'all(p["usable"] == (d["window"]["from_ms"] <= p["watchdog_ms"] <= d["window"]["to_ms"]) for p in d["points"])'
holds 'all(p["trips_per_year"] is None or p["low"] <= p["trips_per_year"] <= p["high"] for p in d["points"])'
holds 'd["openers"] == [] and d["why"] and d["points"][-1]["method"].startswith("too rare to claim")'
cp out one
run 0 watchdog open.toml --json --from "15 ms" --to "95 ms" --step "10 ms" --jobs 2
cmp -s one out || fail "--jobs 2 differs"

# of a channel that delays and loses nothing the caution comes before the figure, on the one line that all read
plant "700 mm" | sed '/^\[channel\]/,$d' >ideal.toml
run 0 watchdog ideal.toml
head -n 1 out | grep -q '^IDEAL CHANNEL, which never varies, loses or bends anything' || fail "the figure comes first: $(head -1 out)"
grep -q '^USABLE' out && fail "an ideal channel has a headline like a real one"
[ "$(grep -n 'sable from' out | head -n 1 | cut -d: -f1)" -ge 2 ] || fail "the figure stands before its caution"
run 0 watchdog ideal.toml --json
holds 'd["ideal_channel"] is True and "best case" in d["cautions"][0]'
run 0 watchdog open.toml --json --from "45 ms" --to "45 ms"
holds 'd["ideal_channel"] is False'

# of measured times no watchdog is called usable that they cannot show to be so, and each row tells what the file says
{
    printf 'no;round_trip_ms\n'
    for i in $(seq 1 900); do printf '%d;6,%03d\n' "$i" "$i"; done
    printf '901;52,5\n902;83\n903;131\n'
} >pings.csv
plant "1000 mm" | sed 's|^delay = { from.*|delay = { file = "pings.csv" }|' >measured.toml
"$LINKDRILL" run measured.toml --out measured >/dev/null 2>err
run 1 watchdog measured.toml --from "40 ms" --to "200 ms" --step "40 ms" --out measured
grep -q '^CANNOT BE TOLD' out || fail "a window out of 903 times: $(head -3 out)"
grep -q '3 of 903 .*no: stops' out || fail "the file's own share is not told: $(cat out)"
grep -q '0 of 903 .*not told' out || fail "a row that nothing tells: $(cat out)"
grep -q 'declared *a longest delay' out || fail "what would tell is not said"
cp measured/watchdog.json out
holds 'd["window"] is None and d["cannot_be_told"] and d["points"][-1]["usable"] is None and d["points"][0]["usable"] is False'
holds '[p["measured"]["longer"] for p in d["points"]] == [3, 2, 1, 0, 0] and d["as_typed"]["high"] > 1'
run 0 report measured --quiet
grep -q 'CANNOT BE TOLD' measured/report.html || fail "the report calls a window what cannot be told"
grep -q 'cannot be told' measured/link_sheet.md || fail "the link sheet does not say that it cannot be told"

plant "440 mm" "loss = 0.01" >shut.toml
run 1 watchdog shut.toml
grep -q '^NO USABLE WATCHDOG' out || fail "a window where none can be"
run 1 watchdog shut.toml --json
holds 'd["window"] is None and len(d["openers"]) >= 2 and all(o["change"] and o["value"] for o in d["openers"])'
holds '"distance" in [o["change"] for o in d["openers"]] and "losses" in [o["change"] for o in d["openers"]]'

plant "700 mm" 'loss = { good_to_bad = 0.001, bad_to_good = 0.3 }' \
    'queue = { service = "0.2 ms", background = "bursts", load = 0.3, burst = 10, room = "100 ms" }' >queue.toml
run 1 watchdog queue.toml --json --from "45 ms" --to "45 ms" --jobs 1
holds 'len(d["points"]) == 1 and ("splitting" in d["points"][0]["method"] or "counted" in d["points"][0]["method"])'
cp out one
run 1 watchdog queue.toml --json --from "45 ms" --to "45 ms" --jobs 3
cmp -s one out || fail "splitting depends on --jobs"

run 2 watchdog open.toml --from "15 ms" --to "95 ms" --step "1 us" && one_line '^linkdrill: --step: .*watchdogs, over 1000'
run 2 watchdog open.toml --from "95 ms" --to "15 ms" && one_line '^linkdrill: --from: .*no watchdog is left'
run 2 watchdog open.toml --step "-10 ms" && one_line '^linkdrill: --step: .*is not above 0'
run 2 watchdog open.toml --step "10" && one_line '^linkdrill: --step: .*is no duration'
run 2 watchdog open.toml --from "5 ms" && one_line '^linkdrill: --from: .*is not over the cycle'
run 2 watchdog open.toml --to "2 h" && one_line '^linkdrill: --to: .*over an hour'
run 2 watchdog "$profile" && one_line 'is a telegram profile'
printf 'one_way_ms\n0.4\n' >one_row.csv
printf 'one_way_ms\nsoon\n' >words.csv
printf 'one_way_ms\n-1\n2\n' >negative.csv
head -c 40 /dev/zero >no.pcap
for measured in 'file = "one_row.csv"' 'file = "words.csv"' 'file = "negative.csv"' 'capture = "no.pcap"'; do
    plant "700 mm" | sed "s/^delay = { from.*/delay = { $measured }/" >measured.toml
    run 2 watchdog measured.toml && one_line '(one_row|words|negative)\.csv|no\.pcap'
done
finish
