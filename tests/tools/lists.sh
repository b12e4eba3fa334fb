#!/usr/bin/env bash
# Two lists of settings, one of each end: what they say is compared, and nothing that is missing counts as alike.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

# A list made from a scenario compares as the scenario does, for every shipped one with a single link.
while read -r file; do
    grep -q '^\[\[link\]\]' "$file" && continue
    run 0 sheet "$file" --out lists
    "$LINKDRILL" check "$file" --json >direct.json 2>err
    expected=$?
    [ $expected -le 1 ] || fail "$file: status $expected"
    grep -q '^\[\[value\]\]' "$file" && expected=1
    run $expected check "$file" --controller-list lists/controller.csv --device-list lists/device.csv --json
    /usr/bin/python3 - "$file" <<'PY' || fail "$file by its lists"
import json, sys
direct, listed = json.load(open("direct.json")), json.load(open("out"))
assert all(one["word"].startswith("values.") for one in listed["lists"]), listed["lists"]
for document in (direct, listed):
    for one in document["differences"]:
        one["mend"] = one["mend"].replace("[bits] has", "X has").replace("[link] has", "X has").replace("its [[value]] has", "X has")
        one["mend"] = one["mend"].replace(sys.argv[1].split("/")[-1] + " has", "X has")
for key in ("compared", "signature", "differences"):
    assert direct[key] == listed[key], (sys.argv[1], key, direct[key], listed[key])
PY
done < <(find "$SOURCE/scenarios" -name '*.toml' -path '*/*_*/*' ! -path '*/drills/*' | sort)

run 0 sheet "$good" --out good
lists=(--controller-list good/controller.csv --device-list mine.csv)
device() { cp good/device.csv mine.csv; }

# What a mistype looks like: the other end's own words, and the mend.
device && sed -i 's/^device_watchdog,.*\r/device_watchdog,60 ms\r/' mine.csv
run 1 check "$good" "${lists[@]}"
grep -q '^ENDS DISAGREE' out || fail "a watchdog typed otherwise: $(cat out)"
grep -q '60 ms' out || fail "the device's own value is not told"

# As a spreadsheet writes it: a byte order mark, semicolons, a decimal comma, quotes, Latin-1.
/usr/bin/python3 - <<'PY'
rows = [line.rstrip("\r\n").split(",", 1) for line in open("good/device.csv", newline="")]
rows = [(a, '"' + b.replace(".", ",") + '"' if b.endswith("ms") else b) for a, b in rows] + [("Bezeichnung f\xfcr Ger\xe4t", "x")]
open("bom.csv", "wb").write(b"\xef\xbb\xbf" + "\r\n".join(f"{a};{b}" for a, b in rows).encode("utf-8"))
open("latin.csv", "wb").write("\n".join(f"{a}\t{b}" for a, b in rows).encode("latin-1"))
open("words.csv", "w", encoding="utf-8").write("Bezeichnung f\xfcr Ger\xe4t;-\n")
PY
for file in bom.csv latin.csv; do
    run 0 check "$good" --controller-list good/controller.csv --device-list $file --map words.csv
    grep -q '^ENDS AGREE' out || fail "$file: $(cat out)"
    run 1 check "$good" --controller-list good/controller.csv --device-list $file
    grep -q '^NOT ALL COMPARED' out || fail "$file without its words: $(cat out)"
    grep -q 'Bezeichnung f\xc3\xbcr' out || grep -q 'Bezeichnung' out || fail "the line is not named: $(cat out)"
done

# Nothing that is missing, twice, or in one list only counts as alike.
device && sed -i '/^cycle/d' mine.csv
run 1 check "$good" "${lists[@]}" --json
/usr/bin/python3 -c '
import json
d = json.load(open("out"))
assert not d["ok"] and [(f["kind"], f["word"]) for f in d["lists"]] == [("one-end-only", "cycle")], d["lists"]' ||
    fail "a setting in one list: $(cat out)"
device && sed '/^cycle/d' good/controller.csv >short.csv && sed -i '/^cycle/d' mine.csv
run 1 check "$good" --controller-list short.csv --device-list mine.csv --json
grep -q '"missing"' out || fail "a setting in no list: $(cat out)"
device && printf 'Cycle,20 ms\r\n' >>mine.csv
run 1 check "$good" "${lists[@]}" --json
grep -q '"twice"' out || fail "a setting twice: $(cat out)"
for signal in $(sed -n 's/^\(bits\.[a-z_]*\),.*/\1/p' good/device.csv); do
    device && sed -i "/^$signal,/d" mine.csv
    run 1 check "$good" "${lists[@]}"
    grep -q '^NOT ALL COMPARED' out || fail "without $signal: $(head -1 out)"
done
run 0 sheet "$good" --blank --out blank
[ "$(wc -l <blank/device.csv)" = "$(wc -l <good/device.csv)" ] || fail "a blank list has other lines"
run 1 check "$good" --controller-list good/controller.csv --device-list blank/device.csv
grep -q '^NOT ALL COMPARED' out || fail "a blank list: $(head -1 out)"

# A unit in a cell of its own counts; two numbers in a line are one that was cut.
device && sed -i '/^device_watchdog/d; /^controller_watchdog/d' mine.csv
cp mine.csv theirs.csv
for unit in ms s; do
    { tr ',' ';' <theirs.csv; printf 'controller_watchdog;45;ms\ndevice_watchdog;45;%s\n' $unit; } >mine.csv
    [ $unit = ms ] && expected=0 || expected=1
    run $expected check "$good" "${lists[@]}"
done
{ cat theirs.csv; printf 'controller_watchdog,45,2\ndevice_watchdog,45,2\n'; } >mine.csv
run 2 check "$good" "${lists[@]}";  one_line 'has two numbers'
device && sed -i 's/^payload_to_device,.*/payload_to_device,8 bytes/' mine.csv
run 0 check "$good" "${lists[@]}"
device && sed -i 's/^profile,.*/profile,\/etc\/passwd/' mine.csv
run 1 check "$good" "${lists[@]}"
grep -q 'is no name of a profile' out || fail "a path as a profile: $(cat out)"
device && tr -d '\n' <mine.csv >cr.csv && mv cr.csv mine.csv
run 0 check "$good" "${lists[@]}"
device && sed -i '/^cycle/d' mine.csv
run 1 check "$good" "${lists[@]}" --format junit
grep -q 'failures="[1-9]' out || fail "what was not compared is no failure in JUnit: $(cat out)"

# Where values lie is in no list, so it is not compared.
values=$SOURCE/scenarios/glass_table/speed_as_value.toml
run 0 sheet "$values" --out values
run 1 check "$values" --controller-list values/controller.csv --device-list values/device.csv
grep -q '^NOT ALL COMPARED' out && grep -q 'values.allowed_speed' out || fail "values: $(cat out)"

# Words of theirs, with units.
sed 's/^cycle,10 ms/Zyklus,10/' good/device.csv >mine.csv
printf 'Zyklus;cycle;ms\n' >words.csv
run 0 check "$good" "${lists[@]}" --map words.csv

# Wrong values are told with the list's line.
device && sed -i 's/^cycle,.*/cycle,10/' mine.csv
run 2 check "$good" "${lists[@]}";  one_line '^mine.csv:[0-9]+: cycle: .*ms'
for value in 1.250 1,250 "1'00"; do
    device && sed -i '/^cycle/d' mine.csv && printf 'cycle,"%s ms"\n' "$value" >>mine.csv
    run 2 check "$good" "${lists[@]}";  one_line '^mine.csv:[0-9]+: .*may be a number'
done
device && sed -i '/^cycle/d' mine.csv && printf 'cycle,"0,010 s"\n' >>mine.csv
run 0 check "$good" "${lists[@]}"
printf 'cycle\n' >mine.csv;             run 2 check "$good" "${lists[@]}"; one_line '^mine.csv:1: has one cell only'
printf 'cycle,"10 ms\n' >mine.csv;      run 2 check "$good" "${lists[@]}"; one_line '^mine.csv:1: has a quote'
: >mine.csv;                            run 2 check "$good" "${lists[@]}"; one_line '^mine.csv: is empty'
printf '\xff\xfec\0y\0' >mine.csv;     run 2 check "$good" "${lists[@]}"; one_line 'UTF-16'
rm mine.csv;                            run 2 check "$good" "${lists[@]}"; one_line '^mine.csv: is no file'
run 2 check "$good" --controller-list good/controller.csv;  one_line -- '--device-list: is missing'
run 2 check "$good" --map words.csv;                        one_line -- '--map: means nothing'
device
run 2 check "$good" "$differ" "${lists[@]}";                one_line 'goes with one scenario'
run 2 check "$profile" "${lists[@]}";                       one_line 'goes with a scenario'
drill=$(find "$SOURCE/scenarios/drills" -maxdepth 1 -name '01_*.toml')
run 2 check "$drill" "${lists[@]}";                         one_line 'goes with a scenario'
run 2 sheet "$SOURCE/scenarios/glass_line/cell.toml";       one_line 'two lists are of one'
run 2 check "$SOURCE/scenarios/glass_line/cell.toml" "${lists[@]}";  one_line 'several links'
run 2 sheet "$profile";                                     one_line 'is no scenario'
# Lists that agree with each other, and not with what the file means; the two lists exchanged.
sed 's/^device_watchdog,[^\r]*/device_watchdog,60 ms/' good/device.csv >mine.csv
sed 's/^device_watchdog,[^\r]*/device_watchdog,60 ms/' good/controller.csv >theirs.csv
run 1 check "$good" --controller-list theirs.csv --device-list mine.csv
tr -s ' \n' '  ' <out | grep -q 'both lists have 60 ms, and all_errors.toml means' || fail "alike, and not as meant: $(cat out)"
run 1 check "$good" --controller-list good/device.csv --device-list good/controller.csv
# What the file types of firmware stands in both lists, or not all is compared.
sed 's/^\[device\]/[device]\nfirmware = "3.1"/' "$good" >firm.toml
cp -r "$SOURCE/scenarios/profiles" .
run 0 sheet firm.toml --out firm
run 0 check firm.toml --controller-list firm/controller.csv --device-list firm/device.csv
grep -v '^firmware,' firm/device.csv >mine.csv
run 1 check firm.toml --controller-list firm/controller.csv --device-list mine.csv
finish
