#!/usr/bin/env bash
# Addresses as they were typed, where a difference is mended, every setting that was compared, and links that never run.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cp -r "$SOURCE/scenarios/profiles" .

# with FILE SED...: the press with these edits.
with() {
    local file=$1
    shift
    sed "$@" "$good" >"$file"
}

# One number typed by 10 at one end and by 16 at the other: the digits agree, the numbers do not.
with base.toml -e 's/^address = "0x0010"/&\npeer_address = 24/' -e 's/^address = "0x0021"/address = "0x24"/'
run 1 check base.toml
has 'press controller 24 (0x18)'
has 'press I/O 0x24 (36)'
has 'the digits agree: one was typed by 16'
has 'mend see the design which is meant, 24 (0x18) or 0x24 (36)'
has_not 'mend at'
run 1 check base.toml --json
holds 'd["differences"][0]["controller"] == "0x0018" and d["differences"][0]["device"] == "0x0024"'
holds 'd["differences"][0]["addresses"] == {"controller": [{"value": 24, "typed": "24"}], "device": [{"value": 36, "typed": "0x24"}]}'
holds 'd["differences"][0]["mend_at"] is None and "typed by 16" in d["differences"][0]["note"]'
run 1 check base.toml "$good" --format sarif
has 'controller 24 (0x18), device 0x24 (36) (the digits agree: one was typed by 16); mend: see the design'
# the same number in both bases is no difference
with same.toml -e 's/^address = "0x0010"/&\npeer_address = 33/'
run 0 check same.toml

# The shorter of two watchdogs is not the meant one for being shorter.
with short.toml -e 's/^address = "0x0021"/&\nwatchdog = "15 ms"/'
run 1 check short.toml
has 'mend at press I/O: 45 ms, as [link] has it'
with payload.toml -e 's/^address = "0x0010"/&\npayload = 12/'
run 1 check payload.toml --json
holds 'all(x["mend_at"] == "controller" and "8 bytes, as [link] has it" in x["mend"] for x in d["differences"])'

# Every setting, with what was meant of it.
run 1 check short.toml --all
has 'Settings compared setting meant press controller press I/O'
grep -Eq '^ +watchdog +45 ms +45 ms +DIFFERS +15 ms$' out || fail "no row of the watchdog: $(cat out)"
grep -Eq '^ +address of press I/O +- +0x0021 \(33\) += +0x0021 \(33\)$' out || fail "no row of an address: $(cat out)"
run 1 check short.toml --all --json
holds 'len(d["settings"]) == d["compared"] and all(set(s) == {"link", "setting", "meant", "controller", "device", "same"} for s in d["settings"])'
holds '[(s["meant"], s["controller"], s["device"], s["same"]) for s in d["settings"] if s["setting"] == "watchdog"] == [("45 ms", "45 ms", "15 ms", False)]'
holds '[s["controller"] for s in d["settings"] if s["setting"] == "address of press I/O"] == [{"value": 33, "typed": "0x0021"}]'
holds 'all(s["link"] is None for s in d["settings"])'
run 0 check "$SOURCE/scenarios/glass_line/cell.toml" --all
has 'Settings compared of link infeed'
run 0 check "$SOURCE/scenarios/glass_line/cell.toml" --all --json
holds '{s["link"] for s in d["settings"]} == {"infeed", "bridge", "table"} and len(d["settings"]) == d["compared"]'

# Two lists: the file is what was meant, addresses in it too, and an address may stand in both bases.
run 0 sheet base.toml --out base
grep -q '^peer_address,24 (0x18)' base/controller.csv || fail "not as typed: $(cat base/controller.csv)"
run 0 sheet "$good" --out good
sed -i 's/^address,.*/address,20\r/; s/^device_watchdog,.*/device_watchdog,60 ms\r/' good/device.csv
run 1 check "$good" --controller-list good/controller.csv --device-list good/device.csv --json
holds '[(x["setting"], x["mend_at"]) for x in d["differences"]] == [("address of press I/O", "device"), ("watchdog of press I/O", "device")]'
holds 'd["differences"][0]["mend"] == "press I/O: 0x0021 (33), as all_errors.toml has it"'
sed -i 's/^address,.*/address,"18 (0x18)"\r/' good/device.csv
run 1 check "$good" --controller-list good/controller.csv --device-list good/device.csv
has 'is not one address in two bases'

# A watchdog that can never run with its cycle.
with never.toml -e 's/^watchdog = "45 ms"/watchdog = "13 ms"/' -e 's/^cycle = "10 ms"/cycle = "12 ms"/' -e 's/^scan = "2 ms"//' \
    -e 's/^phase = "0.7 ms"//'
run 1 check never.toml
has 'ENDS AGREE, BUT'
has 'the link can never run: the watchdog, 13 ms, is shorter than what one exchange takes, 24 ms'
has 'write 24 ms or more'
sed 's/^watchdog = "13 ms"/watchdog = "24 ms"/' never.toml >runs.toml
run 0 check runs.toml
run 1 run runs.toml --json;  holds 'd["link_started"]'
# and what is injected into it: no outcome of a link that runs, and no pass
run 1 run never.toml --json
holds 'd["verdict"] == "fail" and not d["link_started"] and len(d["injections"]) == 10'
holds 'all(i["outcome"] == "never-ran" and not i["as_expected"] and i["standstill_ms"] is None for i in d["injections"])'
run 1 run never.toml
has 'the link never ran, so nothing about it was rehearsed'
has 'never ran'
for word in stopped tolerated 'no effect' 'ran on'; do has_not "$word"; done

# Whoever reckons with a link that never starts says so.
for file in base.toml "$differ"; do
    run 1 watchdog "$file";             one_line 'the link never starts: its two ends disagree, .* differs; no watchdog is usable'
    [ -s out ] && fail "watchdog: $(cat out)"
    run 1 watchdog "$file" --json;      has_not '"usable": true'
    run 1 response "$file" --quiet;     has 'the link does not start'
    run 1 endurance "$file" --years 0.001;  has 'the link did not start'
done
run 1 residual "$differ";               one_line 'profile differs; there are no telegrams of it'
run 1 campaign base.toml --trials 20 --json
holds 'd["outcomes"]["never-ran"] == 20'
run 1 campaign base.toml --trials 20;   has 'the link did not start in any trial'
sed 's/^name = "table drive"/&\nwatchdog = "90 ms"/' "$SOURCE/scenarios/glass_line/cell.toml" >cell.toml
run 1 watchdog cell.toml;               one_line 'link table never starts'
run 1 run cell.toml;                    has 'This link never ran: nothing about it was rehearsed.'
# No formula says it of every channel: a link that never runs with its own is a problem, and no campaign passes over it.
run 0 new rope_pull rope.toml
sed -e 's/^delay = { from.*/delay = { from = "12 ms", to = "13 ms" }/' -e 's/^phase = .*/phase = "3 ms"/' \
    -e 's/^watchdog = .*/watchdog = "30 ms"/' -e 's/^to_device = .*/to_device = "1200 ms"/' rope.toml >slow.toml
run 1 check slow.toml
has 'the link never ran in'
run 1 campaign slow.toml --trials 40 --quiet
grep -q '^FAIL' out || fail "a campaign over a link that never runs: $(cat out)"
finish
