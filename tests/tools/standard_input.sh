#!/usr/bin/env bash
# "-" for standard input, wherever a scenario or profile is read: the same result as from a file, and the same limits.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cp -r "$SOURCE/scenarios/profiles" .

digest_of() { /usr/bin/python3 -c 'import json, sys; print(json.load(open(sys.argv[1]))["digest"])' "$1"; }
run 0 run "$good" --out by_file --json;        by_file=$(digest_of out)
run 0 run - --json <"$good";                   [ "$(digest_of out)" = "$by_file" ] || fail "another run from standard input"
[ -s linkdrill-out/standard-input/report.html ] || fail "no evidence"
fingerprint() { grep -o '"scenario_fingerprint": "[^"]*"' "$1"; }
[ "$(fingerprint by_file/result.json)" = "$(fingerprint linkdrill-out/standard-input/result.json)" ] || fail "another fingerprint"
# What is reckoned of the same text belongs to it, what is of another does not.
run 0 response - --placings 100 --out linkdrill-out/standard-input --quiet <"$good"
run 0 report linkdrill-out/standard-input
run 0 check - <"$good"
run 1 check - <"$differ"
run 0 check - <"$profile"
run 0 residual - --quiet <"$profile"
run 0 measures - --trials 1 --quiet <"$profile"
run 0 campaign - --trials 20 --quiet <"$good"
run 0 campaign - --trial 3 --quiet <"$good"
run 0 endurance - --years 0.001 --quiet <"$good"
run 0 watchdog - --from "40 ms" --to "60 ms" --step "20 ms" --quiet <"$good"

sed 's/watchdog = "45 ms"/watchdog = "45"/' "$good" >bent.toml
run 2 run - <bent.toml;             one_line '^standard input:[0-9]+: link.watchdog: '
run 2 run - --json <bent.toml;      grep -q '"file": "standard input"' out || fail "--json: $(cat out)"
run 2 check - </dev/null;           one_line '^standard input: is empty'
head -c 1000001 /dev/zero | tr '\0' '#' >long
run 2 check - <long;                one_line '^standard input: has over 1000000 bytes'
head -c 5000 /dev/zero >zeros
run 2 check - <zeros;               one_line '^standard input: is not text'
run 3 check - <profiles;            one_line '^standard input: cannot be read'
run 2 run - <"$profile";            one_line '^standard input: is a telegram profile'
run 2 measures - <"$good";          one_line '^standard input: is a scenario'
run 2 check - <"$SOURCE/scenarios/drills/08_twin.toml"; one_line '^standard input: is a drill'
for option in "--store x" "--shard 1/2" "--store x --resume" "--merge x"; do
    # shellcheck disable=SC2086 # several words
    run 2 campaign - --trials 4 $option <"$good"; one_line 'needs the scenario as a file'
done
run 2 run - --live --as channel --listen 127.0.0.1:4700 --peer 127.0.0.1:4701,127.0.0.1:4702 <"$good"
one_line '^linkdrill: --as: needs the scenario as a file'
finish
