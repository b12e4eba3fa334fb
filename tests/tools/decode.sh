#!/usr/bin/env bash
# decode: the list, a telegram byte by byte, captures of others, damaged and foreign files.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0 run "$good" --out ours
capture=ours/capture.pcapng
run 0 decode "$capture"
grep -q '^TELEGRAMS  Veneer press, all errors: 8 726 telegrams on four hops, 21 rejected, 22 dropped\.$' out || fail "$(head -3 out)"
[ "$(wc -L <out)" -le 100 ] || fail "too wide: $(wc -L <out)"
LC_ALL=C grep -q '[^ -~]' out && fail "not ASCII"
[ "$(grep -c '^ *[0-9][0-9]* *[0-9.]* s  ' out)" = 8726 ] || fail "not a row for each telegram"
grep -q '^ *802 *2.000292 s  channel>D *16247  values *rejected: CRC$' out || fail "$(grep -m1 '^ *802 ' out)"
run 0 decode "$capture" --quiet
[ "$(wc -l <out)" = 1 ] || fail "--quiet is more than the first sentence"
run 0 decode "$capture" --json
holds 'len(d["telegrams"]) == d["packets"] == 8726 and d["others"] == 0 and "fields" not in d'
holds 'all({"time_ms", "direction", "sequence", "verdict", "comment"} <= set(t) for t in d["telegrams"])'
holds 'd["telegrams"][801]["time_ms"] == 2000.292713 and d["telegrams"][801]["detected_by"] == "integrity"'
holds 'd["seed"] == 7 and d["whole"] is True and d["mode"] == "virtual" and d["profile"] == "crc32_carried"'

run 0 decode "$capture" --explain 802
grep -q '^TELEGRAM  No 802, 2.000292 s, channel>D: values, 19 bytes, rejected: CRC\.$' out || fail "$(head -1 out)"
[ "$(grep -c 'EXPECTED' out)" = 1 ] || fail "not one field differs: $(cat out)"
[ "$(wc -L <out)" -le 100 ] || fail "too wide"
run 0 decode "$capture" --explain 802 --json
holds '[f["field"] for f in d["fields"]] == ["status", "source", "destination", "number", "payload", "CRC"]'
holds 'all({"field", "bytes", "meaning", "covered_by_crc", "expected", "found"} <= set(f) for f in d["fields"])'
holds 'd["fields"][-1]["expected"] != d["fields"][-1]["found"] and [f["covered_by_crc"] for f in d["fields"]] == [True] * 5 + [False]'
holds '" ".join(f["bytes"] for f in d["fields"]) == d["telegrams"][801]["bytes"]'
# the CRC that was expected is the one that the telegram had before it was bent, and crc agrees
holds 'd["fields"][-1]["expected"] == "0x" + d["telegrams"][800]["bytes"].replace(" ", "")[-8:] or d["telegrams"][800]["bytes"][:44] != d["telegrams"][801]["bytes"][:44]'
expected=$(/usr/bin/python3 -c 'import json; print(json.load(open("out"))["fields"][-1]["expected"])')
hex=$(/usr/bin/python3 -c 'import json; print(json.load(open("out"))["telegrams"][801]["bytes"].replace(" ", "")[:30])')
"$LINKDRILL" crc --width 32 --polynomial 0xF4ACFB13 --initial 0xFFFFFFFF --final-xor 0xFFFFFFFF --hex "$hex" --json |
    grep -qi "\"value\": \"$expected\"" || fail "crc gives another value than $expected"
for packet in 1 9; do
    run 0 decode "$capture" --explain $packet
    grep -q EXPECTED out && fail "a whole telegram differs: $(cat out)"
done
run 2 decode "$capture" --explain 8727; one_line '^linkdrill: --explain: the capture has 8 726 packets'
run 2 decode "$capture" --explain 0;    one_line '^linkdrill: --explain: '

# Every profile that ships has a scenario here with telegrams that were bent, and each of them is explained.
for scenario in glass_table/implied_addresses stage_lift/two_copies stage_lift/streaming_errors; do
    run 0 run "$SOURCE/scenarios/$scenario.toml" --out bent
    run 0 decode bent/capture.pcapng --json
    bent=$(/usr/bin/python3 -c 'import json
d = json.load(open("out"))
print(next((t["packet"] for t in d["telegrams"] if t["verdict"] == "rejected"), 1))')
    run 0 decode bent/capture.pcapng --explain "$bent" --json
    holds 'len(d["fields"]) > 3'
done

# ---- captures of others ----
cat >make.py <<'PYTHON'
"""A classic pcap of a polled link as somebody else's analyser saw it: Ethernet, microseconds, other traffic between."""
import json, struct, sys
telegrams = json.load(open("ours.json"))["telegrams"]
def frame(src, dst, sport, dport, payload, kind=17):
    udp = struct.pack(">HHHH", sport, dport, 8 + len(payload), 0) + payload
    if kind == 6:
        udp = struct.pack(">HHIIBBHHH", sport, dport, 1, 1, 0x50, 0x18, 100, 0, 0) + payload
    ip = struct.pack(">BBHHHBBH4s4s", 0x45, 0, 20 + len(udp), 1, 0, 64, kind, 0, bytes(src), bytes(dst))
    return bytes(12) + b"\x08\x00" + ip + udp
out = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 1)
def put(at_ms, data):
    global out
    us = int(at_ms * 1000)
    out += struct.pack("<IIII", 1_700_000_000 + us // 1_000_000, us % 1_000_000, len(data), len(data)) + data
C, D = (10, 0, 0, 1), (10, 0, 0, 2)
skip = int(sys.argv[2]) if len(sys.argv) > 2 else 0
for t in [t for t in telegrams if t["hop"] in ("channel-to-device", "channel-to-controller")][skip:400]:
    to_device = t["direction"] == "to-device"
    a, b = ((C, 40001), (D, 40002)) if to_device else ((D, 40002), (C, 40001))
    put(t["time_ms"], frame(a[0], b[0], a[1], b[1], bytes.fromhex(t["bytes"].replace(" ", ""))))
    if t["packet"] % 10 == 0:
        put(t["time_ms"], frame(C, D, 5353, 5353, b"another service"))
        put(t["time_ms"], frame(C, D, 80, 80, b"segment", 6))
        put(t["time_ms"], bytes(12) + b"\x08\x06" + bytes(28))
open(sys.argv[1], "wb").write(out)
PYTHON
"$LINKDRILL" decode "$capture" --json >ours.json
/usr/bin/python3 make.py theirs.pcap
run 2 decode theirs.pcap; one_line '^linkdrill: --profile: is needed'
run 0 decode theirs.pcap --profile "$profile" --json
holds 'len(d["telegrams"]) == 400 and d["others"] > 60 and d["packets"] == 400 + d["others"] and d["written_by"] is None'
holds '[t["verdict"] for t in d["telegrams"][:4]] == ["handshake"] * 4 and d["telegrams"][0]["what"] == "offer"'
holds 'set(t["verdict"] for t in d["telegrams"][4:]) == {"accepted"}'
holds 'd["telegrams"][0]["time_ms"] == 0 and d["telegrams"][4]["direction"] == "to-device"'
holds 'any("first handshake" in r for r in d["remarks"]) and all(t["hop"] is None for t in d["telegrams"])'
run 0 decode theirs.pcap --profile "$profile"
[ "$(wc -L <out)" -le 100 ] || fail "too wide"
grep -q 'other packets are not listed' out || fail "does not count what is not listed"
run 0 decode theirs.pcap --profile "$profile" --explain 5
grep -q 'EXPECTED' out && fail "a whole telegram differs: $(cat out)"
run 2 decode theirs.pcap --profile "$profile" --explain 2000; one_line 'the capture has [0-9]* packets'
# tshark writes it anew as pcapng
HOME=$work tshark -r theirs.pcap -w theirs.pcapng 2>/dev/null
run 0 decode theirs.pcapng --profile "$profile" --json
holds 'len(d["telegrams"]) == 400'
# without the handshake: the first telegram gives addresses and number
/usr/bin/python3 make.py later.pcap 10
run 0 decode later.pcap --profile "$profile" --json
holds 'len(d["telegrams"]) == 390 and set(t["verdict"] for t in d["telegrams"]) == {"accepted"}'
holds 'any("holds no handshake" in r for r in d["remarks"])'
# another profile: of other lengths, or of the same length but another CRC
run 1 decode later.pcap --profile "$SOURCE/scenarios/profiles/crc24_implied.toml"
grep -q '^NO TELEGRAM  ' out || fail "$(head -1 out)"
sed 's/^crc = .*/crc = "CRC-32\/ISCSI"/' "$profile" >other.toml
run 0 decode theirs.pcap --profile other.toml --json
holds 'set(t["verdict"] for t in d["telegrams"][4:]) == {"rejected"} and any("another profile was in use" in r for r in d["remarks"])'
run 0 decode "$capture" --profile other.toml --json
holds 'any("instead, as asked for" in r for r in d["remarks"])'

# What is implied and nobody has told is not checked; with the handshake it is.
run 0 run "$SOURCE/scenarios/glass_table/implied_addresses.toml" --out implied
"$LINKDRILL" decode implied/capture.pcapng --json >ours.json
/usr/bin/python3 make.py implied.pcap
run 0 decode implied.pcap --profile "$SOURCE/scenarios/profiles/crc24_implied.toml" --json
holds 'set(t["verdict"] for t in d["telegrams"][4:]) == {"accepted"}'
/usr/bin/python3 make.py implied.pcap 10
run 0 decode implied.pcap --profile "$SOURCE/scenarios/profiles/crc24_implied.toml" --json
holds 'set(t["verdict"] for t in d["telegrams"]) == {"unchecked"} and any("cannot be checked" in r for r in d["remarks"])'
sed 's/^sequence = .*/sequence = { presence = "implied", bits = 16 }/' "$profile" >scenario_profile.toml
cp -r "$SOURCE/scenarios" .
cp scenarios/profiles/crc32_implied_number.toml scenarios/profiles/crc32_carried.toml
run 0 run scenarios/veneer_press/second_error_stops.toml --out number ||
    run 1 run scenarios/veneer_press/second_error_stops.toml --out number
"$LINKDRILL" decode number/capture.pcapng --json >ours.json
/usr/bin/python3 make.py number.pcap
run 0 decode number.pcap --profile scenarios/profiles/crc32_implied_number.toml --json
holds 'set(t["verdict"] for t in d["telegrams"][4:]) == {"accepted"} and all(t["sequence"] is not None for t in d["telegrams"][4:])'

# ---- what is no capture, or only half of one ----
run 2 decode missing.pcapng;  one_line '^missing.pcapng: no such file'
run 2 decode ours;            one_line '^ours: is no file'
run 2 decode "$good";         one_line 'is no capture that can be read'
run 2 decode "$capture" --profile "$good";       one_line 'is a scenario; name the file of a telegram profile'
run 2 decode "$capture" --profile missing.toml;  one_line '^missing.toml: no such file'
run 2 decode;                 one_line 'CAPTURE is missing'
: >empty;                     run 2 decode empty;   one_line '^empty: is no capture'
head -c 1000000 /dev/urandom >noise; run 2 decode noise; one_line '^noise: is no capture'
run 2 decode noise --json
holds 'd["error"]["file"] == "noise"'
if [ "$(id -u)" != 0 ]; then
    cp "$capture" secret && chmod 0 secret
    run 3 decode secret; one_line '^secret: cannot be opened'
fi
head -c 100000 "$capture" >short.pcapng
run 1 decode short.pcapng
grep -q '^DAMAGED  Veneer press, all errors: 1 [0-9]* telegrams' out || fail "$(head -1 out)"
grep -q 'is cut short or damaged after packet 1[0-9]*' out || fail "does not say where: $(head -3 out)"
run 1 decode short.pcapng --json
holds 'd["whole"] is False and len(d["telegrams"]) == d["packets"] > 1000'
"$LINKDRILL" decode "$capture" >/dev/full 2>err
[ $? = 3 ] || fail "a full disk behind standard output"
one_line '^standard output: '
"$LINKDRILL" decode "$capture" | head -1 >/dev/null

# Cut anywhere, bent anywhere: an answer or one line, never a crash.
cat >bend.py <<'PYTHON'
import json, os, random, subprocess, sys
program, profile = sys.argv[1:]
draw = random.Random(7)
def judge(data, what, *more):
    open("bent.pcapng", "wb").write(data)
    done = subprocess.run([program, "decode", "bent.pcapng", "--json", *more], capture_output=True)
    assert done.returncode in (0, 1, 2), (what, done.returncode, done.stderr[:300])
    json.loads(done.stdout.decode("utf-8", "strict"))
    assert (done.returncode == 2) == (done.stderr.count(b"\n") == 1), (what, done.stderr[:300])
ours, theirs = open("small.pcapng", "rb").read(), open("theirs.pcap", "rb").read()[:20000]
for round in range(150):
    for data, more in ((ours, ()), (ours, ("--profile", profile)), (theirs, ("--profile", profile, "--explain", "3"))):
        if round % 3 == 0:
            judge(data[:draw.randrange(len(data))], ("cut", round), *more)
            continue
        bent = bytearray(data)
        # every third time near the begin, where lengths and settings are
        for _ in range(draw.choice((1, 1, 3, 20))):
            at = draw.randrange(min(len(bent), 3000) if round % 3 == 1 else len(bent))
            bent[at] ^= 1 << draw.randrange(8)
        judge(bytes(bent), ("bent", round), *more)
PYTHON
run 0 run "$good" --out small --capture 60
cp small/capture.pcapng small.pcapng
/usr/bin/python3 bend.py "$LINKDRILL" "$profile" || fail "a bent capture"
finish
