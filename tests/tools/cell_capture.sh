#!/usr/bin/env bash
# The capture of a whole cell: every hop of every link, each telegram read by the settings of its own link, verdicts as
# the ends counted; by decode and by tshark (Debian's wireshark packages).
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
export HOME=$work  # tshark looks for its settings there
cell=$SOURCE/scenarios/glass_line/cell.toml

run 0 run "$cell" --out ours
capture=ours/capture.pcapng
run 0 run "$cell" --out again --quiet
cmp -s "$capture" again/capture.pcapng || fail "the same run left another capture"
capinfos "$capture" >about
for line in 'Number of interfaces in file: *12' 'Name = infeed: line controller to channel' \
    'Name = bridge: channel to bridge drive' 'Name = table: table drive to channel' 'Strict time order: *True'; do
    grep -Eq -- "$line" about || fail "capinfos lacks: $line"
done
tshark -n -r "$capture" -T fields -e frame.interface_id -e frame.interface_name -e data.data >theirs.txt 2>/dev/null

run 0 decode "$capture" --json
cp out decoded.json
/usr/bin/python3 - <<'PYTHON' || fail "a capture is not as it should be"
import collections, json
own, run = json.load(open("decoded.json")), json.load(open("ours/result.json"))
telegrams, names = own["telegrams"], [link["name"] for link in run["links"]]
assert [link["name"] for link in own["links"]] == names == ["infeed", "bridge", "table"], own["links"]
assert own["whole"] and own["others"] == 0 and own["digest"] == run["digest"]
assert run["capture"]["telegrams"] == len(telegrams) == own["packets"] and run["capture"]["whole"]
hops = ["controller-to-channel", "channel-to-device", "device-to-channel", "channel-to-controller"]
rows = [row.rstrip("\n").split("\t") for row in open("theirs.txt")]
assert len(rows) == len(telegrams)
for (interface, name, data), telegram in zip(rows, telegrams):
    assert names[int(interface) // 4] == telegram["link"] and hops[int(interface) % 4] == telegram["hop"]
    assert name.startswith(telegram["link"] + ": ") and data.upper() == telegram["bytes"].replace(" ", "")
assert all(a["time_ms"] <= b["time_ms"] for a, b in zip(telegrams, telegrams[1:])), "not in the order of time"
for link, summed in zip(run["links"], own["links"]):
    mine = [t for t in telegrams if t["link"] == link["name"]]
    assert summed["telegrams"] == len(mine) > 1000
    # what the ends counted; the controller was off for a while, and counts from 0 again
    for end in ("controller", "device"):
        verdicts = collections.Counter(t["verdict"] for t in mine if t["hop"] == f"channel-to-{end}")
        rejected = collections.Counter(
            t["detected_by"] for t in mine if t["hop"] == f"channel-to-{end}" and t["verdict"] == "rejected")
        counted = link["ends"][end]
        assert not verdicts["dangerous"] and not verdicts["unchecked"], verdicts
        if end == "device":
            assert verdicts["accepted"] == counted["accepted"], (link["name"], end, verdicts, counted)
            assert verdicts["repeat"] == counted["repeats"], (link["name"], end, verdicts, counted)
            assert rejected == {k: v for k, v in counted["rejected"].items() if v}, (link["name"], end, rejected)
        else:
            assert verdicts["accepted"] > 1000, verdicts
# the telegram with a wrong check value is on the table's link and nowhere else
bent = [t for t in telegrams if t["detected_by"] == "integrity"]
assert [t["link"] for t in bent] == ["table"] and "of link table (" in bent[0]["comment"], bent
open("bent", "w").write(str(bent[0]["packet"]))
# who loses what: the cables of the infeed and of the bridge
for name in ("infeed", "bridge"):
    lost = [t for t in telegrams if t["verdict"] == "dropped" and t["link"] == name]
    assert lost and all(f"Injection 1 of link {name} (" in t["comment"] for t in lost), lost[:2]
PYTHON
run 0 decode "$capture"
grep -q '^TELEGRAMS  Glass line, a cell of three links: [0-9 ]* telegrams of 3 links, 1 rejected' out || fail "$(head -1 out)"
for link in infeed bridge table; do
    grep -Eq "^Link $link +C line controller, D .*: [0-9 ]+ telegrams, [01] rejected, " out || fail "no line of $link"
done
grep -Eq '^ +No +time +link +hop +number +what +verdict$' out || fail "no column for the link"
[ "$(wc -L <out)" -le 100 ] || fail "too wide: $(wc -L <out)"
run 0 decode "$capture" --explain "$(cat bent)"
grep -q 'as set at table drive of link table\.$' out || fail "does not say whose settings: $(sed -n 2,6p out)"
grep -q 'EXPECTED' out || fail "no field differs"
grep -q 'table_may_run' out || fail "not the bits of the table"
run 0 decode "$capture" --explain "$(cat bent)" --scenario "$cell"
run 2 decode "$capture" --explain 9 --scenario "$good"; one_line '^linkdrill: --scenario: .* has one link'
# another profile is another profile for every link
run 0 decode "$capture" --profile "$profile"
sed 's/^crc = .*/crc = "CRC-32\/ISCSI"/' "$profile" >other.toml
run 0 decode "$capture" --profile other.toml --json
/usr/bin/python3 -c 'import json
d = json.load(open("out"))
assert len(d["remarks"]) == 3 and "link table" in d["remarks"][2], d["remarks"]
assert {t["verdict"] for t in d["telegrams"] if t["what"] == "values"} <= {"sent", "dropped", "rejected", "accepted", "ignored", "not-looked-at"}' ||
    fail "another profile"

# The limit counts the telegrams of all links together; 0 leaves none.
run 0 run "$cell" --out ours --capture 100 --json
grep -q '"whole": false' out || fail "the document says that the capture is whole"
[ "$(capinfos -TrMc "$capture" | cut -f2)" = 100 ] || fail "not 100 packets: $(capinfos -TrMc "$capture")"
run 0 decode "$capture" --json
/usr/bin/python3 -c 'import json
d = json.load(open("out"))
assert {t["link"] for t in d["telegrams"]} == {"infeed", "bridge", "table"}
assert "at its limit of 100 telegrams" in d["telegrams"][-1]["comment"]' || fail "the limit"
run 0 run "$cell" --out ours --capture 0
[ -e "$capture" ] && fail "a capture although none was wanted"
# a link more than its settings tell, or settings that are damaged: one line
cp again/capture.pcapng bent.pcapng
/usr/bin/python3 - <<'PYTHON'
data = bytearray(open("bent.pcapng", "rb").read())
at = data.find(b'link = "bridge"')
data[at:at + 4] = b"lnik"
open("bent.pcapng", "wb").write(data)
PYTHON
run 2 decode bent.pcapng; one_line 'the settings that linkdrill put into this capture are damaged'
finish
