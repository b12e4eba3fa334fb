#!/usr/bin/env bash
# Delays out of captures at both ports of a link: taken apart from a capture of ours by Debian's tshark, they must be
# those of the channel that made it, without the device's scans.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
export HOME=$work  # tshark looks for its settings there

# a short press whose channel takes 0.2 to 0.35 ms each way; its device scans every 5 ms
sed "/^\[\[fault\]\]/,\$d; s|\"../../scenarios|\"$SOURCE/scenarios|" "$SOURCE/tests/live/short_press.toml" >press.toml
run 0 run press.toml --out made --quiet
# hops: controller to channel, channel to device, device to channel, channel to controller
tshark -n -r made/capture.pcapng -Y 'frame.interface_id == 0 || frame.interface_id == 3' -w at_controller.pcapng 2>err ||
    fail "tshark: $(cat err)"
tshark -n -r made/capture.pcapng -Y 'frame.interface_id == 1 || frame.interface_id == 2' -w at_device.pcapng 2>err ||
    fail "tshark: $(cat err)"

# with_delay MORE: check and watchdog of the press with those delays; leaves what check says of the longest round trip
with_delay() {
    sed "s|^delay = { from.*|delay = { capture = \"at_controller.pcapng\"$1 }|" press.toml >with.toml
    run 0 check with.toml
    cp out check.txt
    longest=$(tr '\n' ' ' <check.txt | sed -n 's/.*device scan takes up to \([0-9.]*\) ms.*/\1/p')
    "$LINKDRILL" watchdog with.toml --from '40 ms' --to '60 ms' --step '20 ms' >watchdog.txt 2>err || [ $? = 1 ] ||
        fail "watchdog: $(cat err)"
}
# between LOW HIGH: the longest round trip with a scan of 5 ms, in ms
between() {
    /usr/bin/python3 -c 'import sys; low, at, high = map(float, sys.argv[1:]); sys.exit(not low <= at <= high)' \
        "$1" "${longest:-0}" "$2" || fail "up to $longest ms, not $1 to $2"
}

with_delay ''
between 7 12
grep -q 'the delays of both ways hold what the device waits for its scan' check.txt || fail "check: $(cat check.txt)"
grep -q 'The delays of the capture hold what the device waits for its scan' watchdog.txt || fail "watchdog says nothing"
with_delay ', at_device = "at_device.pcapng"'
between 5.6 5.7
grep -q 'hold what' check.txt watchdog.txt && fail "the device's wait is said to be in times without it"
with_delay ', subtract = "1 ms"'
between 6 11
grep -q 'hold what' check.txt watchdog.txt && fail "the device's wait is said to be in times from which it was taken off"
with_delay ', subtract = "30 ms"'
tr -s '\n ' ' ' <check.txt | grep -q 'were taken for 0 where a round trip is shorter than subtract, [0-9]* of [0-9]* times' ||
    fail "subtract is too much, and nobody says so"

sed 's|^delay = { from.*|delay = { capture = "at_controller.pcapng", at_device = "none.pcapng" }|' press.toml >with.toml
run 2 check with.toml; one_line '^none.pcapng: is no file; write the path'
sed 's|^delay = { from.*|delay = { capture = "at_controller.pcapng", at_device = "at_device.pcapng", subtract = "1 ms" }|' \
    press.toml >with.toml
run 2 check with.toml; one_line '^with.toml:[0-9]*: channel.delay.subtract: stands beside at_device.*; leave one of them'
# another link's capture
run 0 run "$SOURCE/scenarios/veneer_press/second_error_stops.toml" --out other --quiet
sed 's|^delay = { from.*|delay = { capture = "at_controller.pcapng", at_device = "other/capture.pcapng" }|' press.toml >with.toml
run 2 check with.toml; one_line '^other/capture.pcapng: holds 0 of the [0-9]* exchanges of at_controller.pcapng; capture whole'
finish
