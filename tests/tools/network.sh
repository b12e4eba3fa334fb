#!/usr/bin/env bash
# Network, module and firmware as typed at the ends: what check, run, the papers, the lists and a live run make of them.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cp -r "$SOURCE/scenarios/profiles" "$SOURCE/scenarios/modules" .
apart=$SOURCE/scenarios/glass_table/other_subnet.toml

# A mask typed wrong: a problem, no difference of the link's settings, and the mend.
run 1 check "$apart" --all
has 'ENDS APART'
has 'the ends cannot reach each other (mask of table I/O): 192.0.2.10 of table controller is not in the subnet 192.0.2.128/25 of table I/O'
has 'mend: table I/O: 255.255.255.0, as at table controller'
run 1 check "$apart" --all --json
holds 'd["kept_apart"]["setting"] == "mask of table I/O" and d["differences"] == [] and d["signature"] is not None'
holds '[s["same"] for s in d["settings"] if s["setting"] == "subnet"] == [False]'
holds '[s["same"] for s in d["settings"] if s["setting"] == "firmware of table I/O"] == [True]'
holds 'any("cannot reach each other" in p for p in d["problems"])'
run 1 check "$apart" "$good" --format sarif
grep -q 'cannot reach each other' out || fail "sarif: $(head -c 900 out)"

# Rehearsed: nothing arrives, and page, JSON, JUnit and papers say which setting it is.
run 1 run "$apart" --out apart
has 'the link never ran'
has 'no answer since start'
has 'Kept apart by mask of table I/O: 255.255.255.0 (/24) for table controller, 255.255.255.128 (/25) for table I/O'
run 1 run "$apart" --out apart --json
holds 'd["verdict"] == "fail" and d["as_expected"] and not d["link_started"] and d["dangerous"] == []'
holds 'all(e["received"] == 0 and e["refusal"] is None for e in d["ends"].values())'
holds 'd["kept_apart"]["mend"] == "table I/O: 255.255.255.0, as at table controller"'
grep -q 'cannot reach each other' apart/report.html || fail "the report does not say why"
for paper in link_sheet.md link_sheet.html; do
    grep -q '255.255.255.128' "apart/$paper" || fail "$paper has not the mask as typed"
done
grep -q 'AS WRITTEN THE LINK NEVER STARTS: the ends cannot reach each other' apart/link_sheet.md || fail "the link sheet does not warn"
# what is typed at one end stands there, and the other end's place is blank
grep -qF '| checksum of the safety program | 5B1C 90E7 | \_\_\_\_ | ' apart/link_sheet.md ||
    fail "the checksum: $(grep checksum apart/link_sheet.md)"

# Mended, it runs; every figure is then allowed.
sed 's/255.255.255.128/255.255.255.0/; s/^expect_verdict.*//' "$apart" >mended.toml
run 0 check mended.toml
has 'ENDS AGREE'
run 0 run mended.toml --out mended
run 0 response mended.toml --placings 200
# Figures of a link that never runs are refused, in one line.
for command in "campaign $apart --trials 10" "watchdog $apart" "endurance $apart --years 0.01" "response $apart" \
    "run $apart --live"; do
    # shellcheck disable=SC2086 # the words are meant to be split
    run 2 $command
    one_line 'cannot reach each other .mask of table I/O.: .*nothing is reckoned of a link that never runs'
done

# Of a cell only the link of that station stays still; its figures are refused all the same.
sed '0,/^ip = "192.0.2.53" /s//ip = "198.51.100.53" /' "$SOURCE/scenarios/templates/over_two_links.toml" >cell.toml
run 1 check cell.toml
has 'ENDS APART'
run 1 check cell.toml --json
holds '["kept_apart" in one for one in d["links"]] == [False, True]'
run 1 run cell.toml --out cell --json
holds '[one["link_started"] for one in d["links"]] == [True, False] and d["verdict"] == "fail"'
holds 'd["links"][1]["kept_apart"]["setting"] and "kept_apart" not in d["links"][0]'
run 1 run cell.toml --out cell
has 'Kept apart by'
for command in campaign watchdog "endurance --years 0.01" response; do
    # shellcheck disable=SC2086 # the words are meant to be split
    run 2 ${command%% *} cell.toml $([ "${command#* }" = "$command" ] || echo "${command#* }")
    one_line 'the ends of link saw cannot reach each other'
done

# nor is there a figure of the other link where a function crosses both
run 2 response cell.toml --link infeed
one_line 'the ends of link saw cannot reach each other'

# What is wrong with a value is told with its place, and what would be right.
bad() { sed "$1" "$apart" >bad.toml; run 2 check bad.toml; one_line "$2"; }
bad 's/^ip = "192.0.2.10"/ip = "192.0.2.010"/' '^bad.toml:[0-9]+: controller.network.ip: "192.0.2.010" is no address of IPv4'
bad 's/^mask = "255.255.255.0"/mask = "24"/' '^bad.toml:[0-9]+: controller.network.mask: "24" is no mask'
bad 's/^station = "table-io"/staton = "table-io"/' '^bad.toml:[0-9]+: device.network.staton: unknown key; did you mean "station"'
bad 's/^module = .*/module = "table_io_4"/' '^bad.toml:[0-9]+: link.module: "table_io_4" is no module .*nearest is "table_io_4_4"'
# words of other tools, typed beside the other keys of an end
bad 's/^address = "0x0071"/&\nsubnet_mask = "255.255.255.0"/' '^bad.toml:[0-9]+: controller.subnet_mask: is of the network; write mask in \[controller.network\]'
sed 's/^to_device = 4/to_device = 1/' modules/table_io_4_4.toml >modules/short.toml
run 2 check modules/short.toml
one_line '^modules/short.toml:[0-9]+: field\[5\].at: lies outside the 1 bytes of its way'

# A module by itself, and beside what is typed.
rm modules/short.toml
run 2 run modules/table_io_4_4.toml
one_line '^modules/table_io_4_4.toml: is a module, which has no link'
run 0 check modules/table_io_4_4.toml
has 'MODULE READ table_io_4_4: 4 bytes to the device, 4 bytes to the controller.'
sed 's/^tilting_allowed = "0.2"/tilting_allowed = "0.5"/' mended.toml >bits.toml
run 1 check bits.toml
has 'module table_io_4_4 has no such bit to table I/O: at table controller tilting_allowed is typed at byte 0 bit 5'
sed 's/^payload = 4/payload = 6/' mended.toml >longer.toml
run 1 run longer.toml --json
holds '"module table_io_4_4" in d["kept_apart"]["why"] and d["verdict"] == "fail"'
sed 's/^address = "0x0072"/&\nslot = 3/' mended.toml >slot.toml
run 1 check slot.toml
has 'ENDS DISAGREE'
has '1 slot'
run 1 run slot.toml --json
holds 'd["kept_apart"]["arrives"] and d["kept_apart"]["words"].startswith("the link never starts (slot): ")'
# the same module by its name and by its path
sed 's/^address = "0x0072"/&\nmodule = "modules\/table_io_4_4.toml"/' mended.toml >path.toml
run 0 check path.toml
has 'ENDS AGREE'
sed 's/^address = "0x0072"/&\nmodule = "drive_4_4"/' mended.toml >other.toml
run 1 check other.toml
has '1 module table controller table_io_4_4 table I/O drive_4_4'
# One end alone: agreement is not claimed.
sed '/^\[device.network\]/,/^$/d' mended.toml >one.toml
run 0 check one.toml
has 'Of network and module NOT ALL is compared'
has 'network settings are typed at table controller only and none at table I/O'
run 0 run one.toml
has 'Of what is typed of network and module not all is compared: see `check`.'

# Two lists: what the file types has to stand in them, and a list's line is named.
run 0 sheet mended.toml --out lists
run 0 check mended.toml --controller-list lists/controller.csv --device-list lists/device.csv
sed 's/^network.mask,.*\r/network.mask,255.255.255.128\r/' lists/device.csv >mine.csv
run 1 check mended.toml --controller-list lists/controller.csv --device-list mine.csv
has 'ENDS APART'
sed 's/^network.ip,.*\r/network.ip,10.100.200.300\r/' lists/device.csv >mine.csv
run 2 check mended.toml --controller-list lists/controller.csv --device-list mine.csv
one_line '^mine.csv:[0-9]+: network.ip: "10.100.200.300" is no address'
for list in controller device; do sed '/^network/d' "lists/$list.csv" >"$list.csv"; done
run 1 check mended.toml --controller-list controller.csv --device-list device.csv
has 'NOT ALL COMPARED'
has 'network.ip stands in neither list'
run 0 sheet mended.toml --blank --out blank
grep -q '^checksum,' blank/device.csv || fail "the blank list does not ask for what the other end has: $(cat blank/device.csv)"
# what is dotted is no number, and 1.8 of a firmware stays as it is
sed 's/^firmware,.*\r/firmware,2.1.0\r/' lists/device.csv >mine.csv
run 1 check mended.toml --controller-list lists/controller.csv --device-list mine.csv
has 'firmware of table I/O table controller 1.8 table I/O 2.1.0'

# Live: loopback unless the typed addresses are asked for, and those of documents no computer has.
run 2 run mended.toml --typed-addresses
one_line 'belongs to --live'
run 3 run mended.toml --live --typed-addresses --out live
one_line '192.0.2.10:0: .*choose an address of this computer, typed as network.ip of table controller'
# an address of this computer is taken: its socket stands in the kernel's list while the run lasts
/usr/bin/python3 - "$LINKDRILL" <<'PYTHON' || fail "the typed address of this computer was not taken"
import re, socket, subprocess, sys, time
text = open("mended.toml").read()
asked = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
try:
    asked.connect(("10.255.255.255", 9))  # sends nothing; tells which address would
    own = asked.getsockname()[0]
except OSError:
    sys.exit(0)  # a computer without any network but loopback
text = re.sub(r"\[controller.network\].*?\n\n", f'[controller.network]\nip = "{own}"\nmask = "/30"\n\n', text, flags=re.S)
text = re.sub(r"\[device.network\].*?\n\n", "", text, flags=re.S)
open("here.toml", "w").write(text)
kept_apart = subprocess.run([sys.argv[1], "check", "here.toml", "--json"], capture_output=True, text=True).stdout
if "kept_apart" in kept_apart:
    sys.exit(0)  # an address at the edge of a /30
wanted = "".join(f"{int(part):02X}" for part in reversed(own.split("."))) + ":"
run = subprocess.Popen([sys.argv[1], "run", "here.toml", "--live", "--typed-addresses", "--out", "here", "--quiet"],
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
seen = False
while run.poll() is None and not seen:
    seen = any(line.split()[1].startswith(wanted) for line in list(open("/proc/net/udp"))[1:])
    time.sleep(0.02)
run.wait()
sys.exit(0 if seen and run.returncode in (0, 1, 3) else 1)
PYTHON
run 2 run mended.toml --live --typed-addresses --as controller --listen 127.0.0.1:0 --peer 127.0.0.1:4700
one_line 'with --typed-addresses the address of table controller is the one typed there'
run 2 run mended.toml --live --typed-addresses --as controller --listen 0 --peer 127.0.0.1:4700
one_line '192.0.2.10:0 is not on this computer'
finish
