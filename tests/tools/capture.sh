#!/usr/bin/env bash
# Captures of every short scenario that ships, read by others: capinfos and tshark (Debian's wireshark packages) count
# the packets, check every IP and UDP checksum, and find the comments that the evidence calls for.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
export HOME=$work  # tshark looks for its settings there

ours=linkdrill-out/all_errors/capture.pcapng
run 0 run "$good"
cp "$ours" first.pcapng
run 0 run "$good"
cmp -s first.pcapng "$ours" || fail "the same run left another capture"
run 0 run "$good" --seed 8
cmp -s first.pcapng "$ours" && fail "another seed left the same capture"
"$LINKDRILL" decode "$ours" >first.txt && "$LINKDRILL" decode "$ours" --json >first.json

# Who wrote it, how it is built.
capinfos -TmQ -a -c "$ours" >/dev/null 2>err || fail "capinfos: $(cat err)"
capinfos "$ours" >about
for line in 'File type: .*pcapng' 'File timestamp precision: *nanoseconds' 'Capture application: *linkdrill 0' \
    'Number of interfaces in file: *4' 'Name = press controller to channel' 'Name = channel to press I/O' \
    'Name = press I/O to channel' 'Name = channel to press controller' 'Strict time order: *True' \
    'First packet time: *1970-01-01 00:00:00.000000000' "digest = \"0x$(grep -o '"digest": "0x[0-9A-F]*' \
    linkdrill-out/all_errors/result.json | tail -c 17)"; do
    grep -Eq -- "$line" about || fail "capinfos lacks: $line"
done

/usr/bin/python3 - "$LINKDRILL" "$SOURCE" <<'PYTHON' || fail "a capture is not as it should be"
import collections, glob, json, os, subprocess, sys
program, source = sys.argv[1:]
FIELDS = ["frame.number", "frame.time_epoch", "frame.interface_id", "ip.checksum.status", "udp.checksum.status",
          "ip.src", "ip.dst", "data.len", "data.data", "frame.comment"]
DOCUMENTATION = ("192.0.2.", "198.51.100.", "203.0.113.")  # RFC 5737
seen = collections.Counter()
for file in sorted(glob.glob(source + "/scenarios/*/*.toml")):
    name = os.path.splitext(os.path.basename(file))[0]
    if "/profiles/" in file or "/modules/" in file or "/drills/" in file or name == "fault_free_day":
        continue
    if "[[link]]" in open(file).read():  # of several links: cell_capture
        continue
    subprocess.run([program, "run", file, "--out", name, "--quiet"], stdout=subprocess.DEVNULL)
    run = json.load(open(f"{name}/result.json"))
    capture = f"{name}/capture.pcapng"
    ask = ["tshark", "-n", "-r", capture, "-T", "fields", "-E", "separator=|", "-o", "udp.check_checksum:TRUE",
           "-o", "ip.check_checksum:TRUE"]
    rows = subprocess.run(ask + [word for field in FIELDS for word in ("-e", field)], capture_output=True, text=True,
                          check=True).stdout.splitlines()
    rows = [dict(zip(FIELDS, row.split("|", len(FIELDS) - 1))) for row in rows]
    own = json.loads(subprocess.run([program, "decode", capture, "--json"], capture_output=True, check=True).stdout)
    telegrams = own["telegrams"]
    assert own["whole"] and own["digest"] == run["digest"], file
    assert run["capture"] == {"file": "capture.pcapng", "telegrams": len(rows), "whole": True,
                              "ends_ms": telegrams[-1]["time_ms"]}, run["capture"]
    assert len(rows) == len(telegrams), (file, len(rows), len(telegrams))
    before = -1
    for row, telegram in zip(rows, telegrams):
        where = (file, row, telegram)
        assert int(row["frame.number"]) == telegram["packet"], where
        # "Good" is 1
        assert row["ip.checksum.status"] == "1" and row["udp.checksum.status"] == "1", where
        assert row["ip.src"].startswith(DOCUMENTATION) and row["ip.dst"].startswith(DOCUMENTATION), where
        seconds, nanoseconds = row["frame.time_epoch"].split(".")
        at = int(seconds) * 10**9 + int(nanoseconds)
        assert at >= before and abs(at / 1e6 - telegram["time_ms"]) < 1e-6, where
        before = at
        assert row["data.data"].upper() == telegram["bytes"].replace(" ", ""), where
        assert ["controller-to-channel", "channel-to-device", "device-to-channel",
                "channel-to-controller"][int(row["frame.interface_id"])] == telegram["hop"], where
        assert (row["frame.comment"] or None) == telegram["comment"], where
        if telegram["verdict"] in ("rejected", "dropped", "dangerous", "ignored", "not-looked-at"):
            assert telegram["comment"], where
        seen[telegram["verdict"]] += 1
    # what the ends counted (a start counts from 0 again)
    restarted = any(one["fault"] == "restart" for one in run["injections"])
    for end in ("controller", "device"):
        arrived = [t for t in telegrams if t["hop"] == f"channel-to-{end}"]
        verdicts = collections.Counter(t["verdict"] for t in arrived)
        counters = run["ends"][end]
        if restarted and end == "device":
            continue
        rejected = collections.Counter(t["detected_by"] for t in arrived if t["verdict"] == "rejected")
        assert verdicts["accepted"] + verdicts["dangerous"] == counters["accepted"], (file, end, verdicts, counters)
        assert verdicts["repeat"] == counters["repeats"], (file, end, verdicts, counters)
        assert verdicts["ignored"] == counters["ignored"], (file, end, verdicts, counters)
        assert rejected == {k: v for k, v in counters["rejected"].items() if v}, (file, end, rejected, counters)
    # every injection that touched telegrams is found on them
    for one in run["injections"]:
        comments = [t["comment"] for t in telegrams if (t["comment"] or "").startswith(f"Injection {one['id']} (")]
        if one["at_end"] is None and one["outcome"] != "not-fired":
            assert comments and all(one["words"] in c for c in comments), (file, one, comments[:2])
assert all(seen[v] for v in ("accepted", "repeat", "rejected", "dropped", "ignored", "handshake", "sent")), seen
PYTHON

# The limit: said in the page, in the document and on the last packet; 0 leaves none, not even an old one.
run 0 run "$good" --capture 100 --json
[ "$(capinfos -TrMc "$ours" | cut -f2)" = 100 ] || fail "not 100 packets: $(capinfos -TrMc "$ours")"
grep -q '"whole": false' out || fail "the document says that the capture is whole"
tshark -r "$ours" -Y 'frame.number == 100' -T fields -e frame.comment 2>/dev/null |
    grep -q 'The capture ends here, at its limit of 100 telegrams' || fail "no word on the last packet"
run 0 run "$good" --capture 100
grep -q 'capture.pcapng ends at 0.[0-9]* s of 22.000 s, after 100 telegrams' out || fail "the page says nothing"
run 0 run "$good" --capture 0
[ -e "$ours" ] && fail "a capture although none was wanted"
grep -q 'capture.pcapng' out && fail "names a capture that is not there"
run 2 run "$good" --capture many; one_line '^linkdrill: --capture: '
run 2 run "$good" --capture -1;   one_line '^linkdrill: '

# A disk that fills up while the capture is written: nothing half-written stays, the old evidence is whole.
run 0 run "$good"
before=$(cd linkdrill-out/all_errors && cat ./* | cksum)
status=0
(ulimit -f 300; exec "$LINKDRILL" run "$good") >out 2>err || status=$?
[ "$status" = 3 ] || fail "over the size limit: status $status"
one_line 'all_errors/capture.pcapng: File too large; make room, or give --out'
[ "$(cd linkdrill-out/all_errors && cat ./* | cksum)" = "$before" ] || fail "the old evidence was touched"
ls -A linkdrill-out/all_errors | grep -q unfinished && fail "left behind: $(ls -A linkdrill-out/all_errors)"

# Killed in the middle: what it left is no evidence, and goes with the next run.
"$LINKDRILL" run "$SOURCE/scenarios/veneer_press/fault_free_day.toml" --out killed >/dev/null 2>&1 & killed=$!
for _ in $(seq 100); do ls -A killed 2>/dev/null | grep -q unfinished && break; sleep 0.05; done
kill -KILL $killed
wait $killed 2>/dev/null
[ -e killed/capture.pcapng ] && fail "a killed run left a capture"
ls -A killed | grep -q unfinished || fail "the killed run had not begun"
# what only looks like it is somebody else's
others=(notes.unfinished .capture.pcapng.unfinished.old .capture.pcapng-mine-0.unfinished .capture.pcapng-1-.unfinished
    .capture.pcapng-1-2-3.unfinished .mine.pcapng-1-0.unfinished)
for other in "${others[@]}"; do echo precious >"killed/$other"; done
mkdir killed/.capture.pcapng-1-7.unfinished
run 0 run "$good" --out killed
for other in "${others[@]}"; do
    [ "$(cat "killed/$other")" = precious ] || fail "somebody else's $other is gone"
    rm "killed/$other"
done
rmdir killed/.capture.pcapng-1-7.unfinished || fail "somebody else's folder is gone"
ls -A killed | grep -q unfinished && fail "what the killed run left is still there"
for name in .capture.pcapng-1-0.unfinished .capture.pcapng.unfinished; do echo half >killed/$name; done
run 0 run "$good" --out killed --capture 0
ls -A killed | grep -q unfinished && fail "what a killed run left is still there after a run without a capture"

# Ended by Ctrl-C or by TERM it leaves nothing.
for signal in INT TERM; do
    status=0
    timeout --preserve-status --signal $signal 0.4 "$LINKDRILL" run "$SOURCE/scenarios/veneer_press/fault_free_day.toml" \
        --out ended >out 2>err || status=$?
    [ $status = 130 ] || fail "ended by $signal: status $status, $(cat err)"
    [ "$(ls -A ended)" = .linkdrill ] || fail "ended by $signal it leaves: $(ls -A ended)"
done

# As few files as may be open: it works, or says so; its own capture is not taken for what somebody left.
for files in 4 5 6 7 8 9 10; do
    status=0
    (ulimit -n $files; exec "$LINKDRILL" run "$good" --out few) >out 2>err || status=$?
    grep -q 'No such file' err && fail "with $files files it lost its own: $(cat err)"
    [ $status = 3 ] || [ $status = 0 ] || [ $status = 127 ] || fail "with $files files: status $status, $(cat err)"
    ls -A few 2>/dev/null | grep -q unfinished && fail "with $files files it leaves: $(ls -A few)"
done
[ $status = 0 ] || fail "ten files are not enough: $(cat err)"


# A running one's file is left alone by others.
cp -r "$SOURCE/scenarios" .
sed -i 's/^duration = "24 h"/duration = "4 h"/; /^\[\[demand\]\]/,/^$/d' scenarios/veneer_press/fault_free_day.toml
"$LINKDRILL" run scenarios/veneer_press/fault_free_day.toml --out shared --capture 50000 --quiet >day & day=$!
for _ in $(seq 100); do ls -A shared 2>/dev/null | grep -q unfinished && break; sleep 0.05; done
run 0 run "$good" --out shared
wait $day || fail "the run whose folder others used: status $?"
[ "$(capinfos -TrMc shared/capture.pcapng | cut -f2)" = 50000 ] || fail "the last to end has not left its capture"
finish
