# What may be typed with --live, and what is said when a port is taken.
. "$(dirname -- "$0")/common.bash"
short=$SOURCE/tests/live/short_press.toml

run 2 run "$short" --as device --listen 127.0.0.1:0 --peer 127.0.0.1:4700
one_line 'belongs to --live'
run 2 run "$short" --live --as somebody --listen 127.0.0.1:0 --peer 127.0.0.1:4700
one_line 'no part; write controller, channel or device'
run 2 run "$short" --live --as device --peer 127.0.0.1:4700
one_line 'listen: is missing'
run 2 run "$short" --live --as device --listen 127.0.0.1:0 --peer 127.0.0.1:70000
one_line 'no address with a port'
run 2 run "$short" --live --as channel --listen 127.0.0.1:0 --peer 127.0.0.1:4701
one_line 'two peers'
run 2 run "$short" --live --as device --listen 192.0.2.1:4702 --peer 127.0.0.1:4700
one_line 'not on this computer'
run 2 run "$short" --live --times-slower 0
one_line 'times-slower'

# a channel of its own knows neither ends nor machine
run 2 run "$SOURCE/scenarios/glass_table/worn_cable.toml" --live
one_line 'which the channel of a live run cannot know; take --live away'
run 2 run "$SOURCE/scenarios/glass_table/worn_cable.toml" --live --as device --listen 127.0.0.1:0 --peer 127.0.0.1:4700
one_line 'worn_cable.toml:[0-9]*: fault\[1\]: '

# a cell: its parts by name, and what exists in virtual time only
cell=$SOURCE/scenarios/glass_line/cell.toml
run 2 run "$cell" --as controller
one_line 'belongs to --live; add --live'
run 2 run "$cell" --live --as device --listen 127.0.0.1:0 --peer 127.0.0.1:4700
one_line '"device" is no part of this cell; nearest is "[a-z]*"; write "controller", "channel", "device:infeed I/O", "device:bridge drive" or "device:table drive"'
run 2 run "$cell" --live --as 'device:bridge drve' --listen 127.0.0.1:0 --peer 127.0.0.1:4700
one_line 'nearest is "device:bridge drive"'
run 2 run "$cell" --live --as 'device:bridge drive' --listen 127.0.0.1:0 --peer 127.0.0.1:4700,127.0.0.1:4701
one_line 'an end has one peer, the channel'
run 2 run "$cell" --live --as channel --listen 127.0.0.1:0 --peer 127.0.0.1:4701,127.0.0.1:4702
one_line 'has 4 peers, not 2; .*in the order of the links: infeed I/O, bridge drive, table drive'
run 2 run "$cell" --live --as channel --listen 127.0.0.1:0
one_line 'peer: is missing; .*infeed I/O, bridge drive, table drive'
run 2 run "$cell" --live --as controller --listen 127.0.0.1:0 --peer 192.0.2.1:4700
one_line 'not on this computer'
run 2 run "$cell" --live --listen 127.0.0.1:4700
one_line 'belongs to --as'
run 2 run "$cell" --live --capture 1000
one_line 'of several links is taken in virtual time'
cp -r "$SOURCE/scenarios/profiles" .
sed 's/^at = "17 s"$/&\nwhile = "running"\nwhile_end = "controller"/' "$cell" >condition.toml
run 2 run condition.toml --live
one_line 'condition.toml:[0-9]*: fault\[1\]: .*cannot know; take --live away'
sed 's/stop = "category-0"/stop = "reduced-speed"/; s/^speed = "400 mm\/s"$/&\nreduced_speed = "50 mm\/s"/; s/must = "category-0"/must = "reduced-speed"/' "$cell" >reduced.toml
run 2 run reduced.toml --live
one_line 'reduced.toml:[0-9]*: signal\[6\]: lets table go at reduced speed by what another link brings'

# a folder that is somebody else's is refused before the run of 4 s, and nothing in it goes
mkdir foreign && echo theirs >foreign/part-device.txt
begun=$(date +%s%N)
run 3 run "$short" --live --out foreign
one_line 'holds files that linkdrill did not write'
run 3 run "$short" --live --as device --listen 127.0.0.1:0 --peer 127.0.0.1:4700 --out foreign
one_line 'holds files that linkdrill did not write'
[ $(( ($(date +%s%N) - begun) / 1000000 )) -lt 3500 ] || fail 'a folder that cannot be had was found out after the run'
[ "$(cat foreign/part-device.txt)" = theirs ] || fail "a foreign folder's file is gone"

# a port in use: status 3, saying which
/usr/bin/python3 -c '
import socket, time
s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
s.bind(("127.0.0.1", 0))
print(s.getsockname()[1], flush=True)
time.sleep(20)' >port &
holder=$!
for _ in 1 2 3 4 5 6 7 8 9 10; do [ -s port ] && break; sleep 0.2; done
run 3 run "$short" --live --as device --listen "127.0.0.1:$(cat port)" --peer 127.0.0.1:4700 --out out-busy
one_line "127.0.0.1:$(cat port): port in use"
kill "$holder"
# parts that were given different commands would wait for each other: the one that comes last says so
differs() {  # differs FILE PART PEERS PART2 OPTIONS...: what the second says of the first
    local file=$1 part=$2 peers=$3 other=$4
    shift 4
    rm -rf apart
    "$LINKDRILL" run "$file" --live --as "$part" --listen 127.0.0.1:0 --peer "$peers" --out apart >first 2>&1 &
    local first=$!
    for _ in $(seq 100); do compgen -G 'apart/*' >/dev/null && break; sleep 0.05; done
    sleep 0.2
    run 2 run "$file" --live --as "$other" --listen 127.0.0.1:0 --peer 127.0.0.1:4700 --out apart "$@"
    kill "$first"
    wait "$first" 2>/dev/null || true
}
differs "$short" controller 127.0.0.1:4700 device --seed 77
one_line '^apart/part-controller.txt: is written by a part that was given seed 5, here 77; give all parts the same, or another --out$'
differs "$short" controller 127.0.0.1:4700 device --times-slower 3
one_line 'was given times-slower 1, here 3; '
differs "$cell" controller 127.0.0.1:4700 'device:bridge drive' --seed 77
one_line 'was given seed [0-9]*, here 77; '
finish
