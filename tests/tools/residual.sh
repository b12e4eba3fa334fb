#!/usr/bin/env bash
# residual: statuses, keys, bad input, the cache and its corrupt or foreign files.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
export XDG_CACHE_HOME=$work/cache
kept=$XDG_CACHE_HOME/linkdrill/weights-16-1021-64.txt

run 0 residual --crc CRC-16/IBM-3740 --data-bits 64 --json
[ -s err ] && fail "says something on standard error: $(cat err)"
holds '{"width", "polynomial", "data_bits", "hd", "weights", "residual", "at_bit_error_rate", "maximum", "proper", "methods"} <= set(d)'
holds 'd["width"] == 16 and d["polynomial"] == "0x1021" and d["hd"] == 4 and d["proper"] is False'
holds 'set(map(str, range(1, 13))) <= set(d["weights"]) and d["weights"]["4"] == "162" and d["weights"]["3"] == "0"'
holds 'all(abs(r["value"] / e - 1) < 1e-12 for r in d["residual"] for p, e in ((0.1, 1.903630858813928567e-5), (1e-6, 1.619876884715158844e-22)) if r["p"] == p)'
holds 'len(d["residual"]) >= 7 and d["at_bit_error_rate"] == next(r["value"] for r in d["residual"] if r["p"] == 0.01)'
holds 'set(d["maximum"]) == {"p", "value"} and len(d["methods"]) == 3'
holds 'all({"name", "source", "rate_per_hour", "share_per_hour", "met"} <= set(m) for m in d["methods"])'

# the level decides the status, by all methods or by one
claim=(--sil 3 --telegrams-per-hour 360000)
run 1 residual "$profile" "${claim[@]}"
grep -q '^FAIL  ' out || fail "no verdict word first: $(head -1 out)"
run 0 residual "$profile" "${claim[@]}" --method rate-limit
grep -q '^PASS  ' out || fail "no verdict word first: $(head -1 out)"
[ "$(wc -L <out)" -le 100 ] || fail "too wide"
run 1 residual --crc CRC-8/SMBUS --data-bits 64 "${claim[@]}" --json
holds 'd["met"] is False and [m["met"] for m in d["methods"]] == [False, None, False]'
run 0 residual "$profile" --sil 3 --telegrams-per-hour 1 --bit-error-rate 1e-6 --wrong-addresses-per-hour 0 --wrong-times-per-hour 0
run 1 residual "$SOURCE/scenarios/profiles/crc24_implied.toml" --scan-bytes 40 --sil 2 --telegrams-per-hour 1000 --method older --bit-error-rate 0.003 --json
holds 'len(d["lengths"]) == 40 and d["first_lost_payload_bytes"] > 1'
holds 'all(l["met"] for l in d["lengths"] if l["payload_bytes"] < d["first_lost_payload_bytes"])'
# of a scenario: both receivers, by the highest level of its functions
plant=$SOURCE/scenarios/log_debarker/guards.toml
run 1 residual "$plant" --json
holds 'd["sil"] == 2 and d["met"] is False and [r["telegrams_per_hour"] for r in d["links"][0]["receivers"]] == [360000, 360000]'
holds 'all(abs(s["rate_per_hour"] / (2 * r["rate_per_hour"]) - 1) < 1e-12 for s, r in zip(d["sum"], d["links"][0]["receivers"][0]["methods"]))'
cp out of_plant.json
run 0 check "$plant" --json
/usr/bin/python3 -c 'import json; a, b = json.load(open("of_plant.json")), json.load(open("out"))["residual"]; assert all(a[k] == b[k] for k in b)' ||
    fail "check and residual differ"
run 0 residual "$plant" --method rate-limit --out of_plant
grep -q '^PASS  ' out || fail "no verdict word first: $(head -1 out)"
[ "$(wc -L <out)" -le 100 ] || fail "too wide"
[ -s of_plant/link_residual.json ] || fail "nothing kept with --out"
run 0 run "$plant" --out dossier --quiet
run 0 residual "$plant" --method rate-limit --out dossier
run 0 report dossier
grep -q 'Residual error rate of the link, both receivers added up' dossier/report.html || fail "the report lacks the link's rate"
run 2 residual "$plant" --sil 3; one_line 'does not go with a scenario, which says it; take it away$'
run 0 residual --compare CRC-16/IBM-3740,CRC-24/BLE,16:0x8BB7 --data-bits 128
[ "$(wc -L <out)" -le 100 ] || fail "too wide"
run 0 residual --compare CRC-16/IBM-3740,CRC-24/BLE --data-bits 128 --json
holds '[c["name"] for c in d["crcs"]] == ["CRC-16/IBM-3740", "CRC-24/BLE"]'
run 0 residual --crc CRC-64/XZ --data-bits 104 --json
holds 'd["exact"] is False and d["at_bit_error_rate"] is None and d["maximum"] is None and d["proper"] is None'
holds 'set(map(str, range(1, 13))) <= set(d["weights"]) and d["weights"]["12"] is None and d["weights"]["1"] == "0"'
holds 'd["at_bit_error_rate_bounds"]["at_least"] <= d["at_bit_error_rate_bounds"]["at_most"]'
for file in "$SOURCE"/scenarios/profiles/*.toml; do
    run 0 residual "$file" --bit-error-rate 1e-3
done

# bad input: one line, status 2
bad() {
    local pattern=$1
    shift
    run 2 residual "$@"
    one_line "$pattern"
    [ -s out ] && fail "something on standard output: residual $*"
}
bad '--polynomial: does not fit the width' --width 16 --polynomial 0x11021 --data-bits 64
bad '--polynomial: even' --width 16 --polynomial 0x1020 --data-bits 64
bad '--polynomial: "1021" is no hex' --width 16 --polynomial 1021 --data-bits 64
bad '--width: ' --width 7 --polynomial 0x21 --data-bits 64
bad '--width: ' --width 65 --polynomial 0x21 --data-bits 64
bad '--width: missing' --polynomial 0x21 --data-bits 64
bad '--data-bits: "0" is no number' --crc CRC-32/ISCSI --data-bits 0
bad '--data-bits: .* write 1 to 2368' --crc CRC-32/ISCSI --data-bits 2369
bad '--data-bits: "-1"' --crc CRC-32/ISCSI --data-bits -1
bad '--data-bits: missing' --crc CRC-32/ISCSI
bad '--crc: "CRC-32/ISCI" is not in the catalogue; did you mean CRC-32/ISCSI' --crc CRC-32/ISCI --data-bits 64
bad '--crc: does not go with' --crc CRC-32/ISCSI --width 32 --data-bits 64
bad '--compare: ' --compare 16:0x1020 --data-bits 64
bad '--compare: ' --compare CRC-32/ISCSI, --data-bits 64
bad '--sil: ' --crc CRC-32/ISCSI --data-bits 64 --sil 5
for rate in 0 0.6 nan inf -1 1e-2x ''; do
    bad '--bit-error-rate: ' --crc CRC-32/ISCSI --data-bits 64 --bit-error-rate "$rate"
done
bad 'no such file' none.toml
bad '--scan-bytes: ' "$profile" --scan-bytes 251
bad '--scan-bytes: goes with' --crc CRC-16/IBM-3740 --data-bits 64 --scan-bytes 4

# the cache: what was computed is used, what is corrupt is said and replaced, what is foreign is said and left alone
[ -s "$kept" ] || fail "nothing kept in $kept"
[ "$(find "$XDG_CACHE_HOME" -name '*.txt.*' | wc -l)" = 0 ] || fail "temporary files are left"
asked=(residual --crc CRC-16/IBM-3740 --data-bits 64)
run 0 "${asked[@]}" --no-cache
cp out fresh
run 0 "${asked[@]}"
cmp -s out fresh || fail "from the cache it reads otherwise"
[ -s err ] && fail "a good cache file is complained about: $(cat err)"
cp "$kept" whole
damage() {
    run 0 "${asked[@]}"
    one_line "$kept: corrupt; computed anew and replaced"
    cmp -s out fresh || fail "a corrupt file changed the result"
    cmp -s "$kept" whole || fail "the corrupt file was not replaced"
}
sed -i '5s/^./7/' "$kept"; damage
head -c 200 whole >"$kept"; damage
: >"$kept"; damage
# a checksum that fits, around counts that are no code's
/usr/bin/python3 - "$kept" "$LINKDRILL" <<'PYTHON'
import json, subprocess, sys
lines = open(sys.argv[1]).read().split("\n")
lines[2], lines[40] = str(int(lines[2]) + 1), str(int(lines[40]) - 1)
text = "\n".join(lines[:-2]) + "\n"
value = subprocess.run([sys.argv[2], "crc", "CRC-64/XZ", "--hex", text.encode().hex(), "--json"], capture_output=True, text=True)
open(sys.argv[1], "w").write(text + "checksum " + json.loads(value.stdout)["value"] + "\n")
PYTHON
damage
cp "$XDG_CACHE_HOME/linkdrill/weights-16-8BB7-128.txt" "$kept"
damage
foreign() {
    run 0 "${asked[@]}"
    one_line "$kept: not written by linkdrill; left as it is, computed anew"
    cmp -s out fresh || fail "a foreign file changed the result"
}
echo 'my own notes' >"$kept"; foreign
[ "$(cat "$kept")" = 'my own notes' ] || fail "a foreign file was overwritten"
rm "$kept"; mkdir "$kept"; foreign
rmdir "$kept"; echo precious >target; ln -s "$work/target" "$kept"; foreign
[ "$(cat target)" = precious ] || fail "written through a link"
# nowhere to keep anything: said, and the result is there all the same
XDG_CACHE_HOME=$work/target run 0 "${asked[@]}"
one_line 'weights are not kept for the next time'
cmp -s out fresh || fail "without a cache the result is another one"
finish
