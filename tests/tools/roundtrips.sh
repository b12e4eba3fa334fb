#!/usr/bin/env bash
# linkdrill roundtrips: what may be typed, and what is said when the computer says no. What it measures: tests/live.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 2 roundtrips;                                        one_line '^linkdrill: --ask: is missing; write --answer PORT'
run 2 roundtrips --ask 127.0.0.1:4711 --answer 4711;     one_line 'does not go with --answer'
for wrong in 4711 127.0.0.1 127.0.0.1: 127.0.0.1:0 127.0.0.1:70000 localhost:4711 '' 300.0.0.1:4711; do
    run 2 roundtrips --ask "$wrong";                     one_line '^linkdrill: --ask: ".*is no address with a port'
done
for wrong in 224.0.0.1:4711 255.255.255.255:4711 0.0.0.0:4711 '[::]:4711' '[ff02::1]:4711'; do
    run 2 roundtrips --ask "$wrong";                     one_line 'is no address of one computer'
done
for wrong in x 70000 :x 224.0.0.1:4711 255.255.255.255:4711 127.0.0.1 ''; do
    run 2 roundtrips --answer "$wrong";                  one_line '^linkdrill: --answer: ".*is no address with a port'
done
for wrong in 10 '10 parsec' '' '-5 ms' '0.9 ms' '11 s'; do
    run 2 roundtrips --ask 127.0.0.1:4711 --cycle "$wrong"
    one_line '^linkdrill: --cycle: .*; write 1 ms to 10 s, for example "10 ms"$'
done
for wrong in 60 '0.5 s' '25 h'; do
    run 2 roundtrips --ask 127.0.0.1:4711 --for "$wrong"
    one_line '^linkdrill: --for: .*; write 1 s to 24 h, for example "1 min"$'
done
for wrong in 15 251 19.5 ''; do
    run 2 roundtrips --ask 127.0.0.1:4711 --bytes "$wrong"
    one_line '^linkdrill: --bytes: .*16 to 250; the header of a datagram has 16$'
done
run 2 roundtrips --ask 127.0.0.1:4711 --for '1 s' --cycle '600 ms'; one_line 'fewer than two cycles'
run 2 roundtrips --ask 127.0.0.1:4711 --for '24 h' --cycle '1 ms'
one_line '^linkdrill: --for: is 86 400 000 datagrams, over 1 000 000; write a shorter time, or a --cycle of at least 86.4 ms$'
run 2 roundtrips --answer 4711 --bytes 19;               one_line 'belongs to --ask'

# a port in use, an address that is not here: status 3
/usr/bin/python3 -c '
import socket, time
s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
s.bind(("127.0.0.1", 0))
print(s.getsockname()[1], flush=True)
time.sleep(30)' >port &
holder=$!
for _ in $(seq 50); do [ -s port ] && break; sleep 0.2; done
run 3 roundtrips --answer "$(cat port)";                 one_line "127.0.0.1:$(cat port): port in use"
kill "$holder"
run 3 roundtrips --answer 192.0.2.1:4711 --for '1 s'
grep -q '192.0.2.1:4711: .*choose an address and port that are open to you' err || fail "an address elsewhere: $(cat err)"

# nobody asked; and who can reach it is said where it is more than this computer
run 1 roundtrips --answer :0 --for '1 s'
grep -q '^NOT ASKED  nobody asked at 127.0.0.1:' out || fail "nobody asked: $(cat out)"
grep -q 'anybody' err && fail "loopback is said to be reached by anybody"
run 1 roundtrips --answer 0.0.0.0:0 --for '1 s'
[ "$(grep -c 'anybody on any network of this computer can reach it' err)" = 1 ] || fail "0.0.0.0: $(cat err)"
run 1 roundtrips --answer '[::1]:0' --for '1 s' --out kept --json
/usr/bin/python3 -c '
import json
d = json.load(open("out"))
assert d["verdict"] == "not-asked" and d["at"].startswith("[::1]:") and d["answered"] == 0, d' || fail "$(cat out)"
[ -s kept/roundtrips_answer.json ] && [ -s kept/roundtrips_answer.txt ] || fail "nothing kept with --out"

# Both ends by IPv6, and a folder that is somebody else's.
"$LINKDRILL" roundtrips --answer '[::1]:0' --for '1 min' 2>said >/dev/null &
answerer=$!
for _ in $(seq 50); do grep -q 'answers at' said && break; sleep 0.1; done
port=$(sed -n 's/.*answers at \[::1\]:\([0-9]*\)$/\1/p' said)
"$LINKDRILL" roundtrips --ask "[::1]:$port" --cycle '20 ms' --for '1 s' --out six >out 2>err ||
    [ $? = 1 ] || fail "IPv6: $(cat err)"
grep -Eq '^(MEASURED|NOT BELIEVED)  ' out || fail "IPv6: $(cat out)"
[ "$(wc -l <six/round_trips.csv)" -gt 5 ] || fail "no rows"
for name in roundtrips.html roundtrips.txt roundtrips.json; do [ -s "six/$name" ] || fail "no $name"; done
[ "$(wc -L <out)" -le 100 ] || fail "wider than 100 columns"
tidy -q -e six/roundtrips.html >tidy.txt 2>&1
[ ! -s tidy.txt ] || fail "roundtrips.html is no valid HTML: $(head -n 5 tidy.txt)"
mkdir foreign && echo mine >foreign/round_trips.csv
run 3 roundtrips --ask "[::1]:$port" --cycle '20 ms' --for '1 s' --out foreign
grep -q '^foreign: holds files that linkdrill did not write' err || fail "a foreign folder: $(cat err)"
[ "$(cat foreign/round_trips.csv)" = mine ] || fail "a foreign file was touched"
kill "$answerer"
finish
