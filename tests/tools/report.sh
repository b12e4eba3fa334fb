#!/usr/bin/env bash
# report: one dossier out of the results of one scenario, nothing mixed, nothing half-written.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
python=/usr/bin/python3
papers="acceptance_sheet.html acceptance_sheet.md link_sheet.html link_sheet.md report.html"

# What run leaves is what report makes of the same documents, byte for byte; and twice the same.
run 0 run "$good" --out demo
mkdir left && for paper in $papers; do cp "demo/$paper" left/; done
run 0 report demo --json
holds 'sorted(f.split("/")[1] for f in d["files"]) == "'"$papers"'".split() and all(f.startswith("demo/") for f in d["files"])'
holds 'd["gathered"] == ["result.json", "plant.json", "acceptance.json", "timeline.json"] and d["verdict"] == "pass"'
for paper in $papers; do cmp -s "left/$paper" "demo/$paper" || fail "$paper: report does not repeat run"; done
run 0 run "$good" --out again
for paper in $papers; do cmp -s "left/$paper" "again/$paper" || fail "$paper: two runs differ"; done
grep -q 'Missing    response, watchdog, residual' out && fail "the page of report went to run"

# The other commands with the same --out join in.
run 0 response "$good" --out demo --placings 200 --quiet
run 0 watchdog "$good" --out demo --quiet
run 1 residual "$profile" --sil 3 --telegrams-per-hour 360000 --out demo --quiet
run 0 report demo/
grep -q '^DOSSIER  Veneer press, all errors: 7 documents' out || fail "report: $(head -n 1 out)"
for words in 'Usable from 12 ms to 49 ms' 'parameters 0xF8DD5D6F' 'as each maker'; do
    grep -qF "$words" demo/link_sheet.html demo/link_sheet.md || fail "link sheet lacks: $words"
done
for words in '484 mm' 'USABLE FROM 12 ms TO 49 ms' 'linkdrill run .*all_errors.toml --seed 7' 'IEC 62541-15' '2.67 × 10⁻⁸'; do
    grep -q "$words" demo/report.html || fail "report lacks: $words"
done

# What is of a telegram's profile has a seed of its own; cells of the link's own exchange are shown.
run 0 measures "$profile" --trials 10 --seed 3 --out demo --quiet
run 0 campaign "$good" --trials 100 --out demo --quiet
run 0 report demo
grep -q ': 9 documents of one scenario' out || fail "report with measures and campaign: $(head -n 1 out)"
for words in 'Simulated beside published' 'EN 50159' 'by error, in the campaign'; do
    grep -q "$words" demo/report.html || fail "report lacks: $words"
done
grep -q 'grows slowly: every telegram comes in time' demo/report.html && fail "cells of another exchange are shown"

# The acceptance sheet: in this order, the pulled cable by its own limit, what supplements what.
order='Before you begin.*Found at the machine.*Look only.*Wires.*At full speed.*Free again.*Break the link.*Change settings'
order+='.*Ten measurements.*Deviations.*Closing'
tr '\n' ' ' <demo/acceptance_sheet.html | grep -q "$order" || fail "acceptance sheet: other order"
for words in '179\.3 (the link alone not before 32\.3)' 'plug back in, seen by' 'never replaces it' '<strong>WARNING</strong>' \
    'settings read again at press I/O' 'Distances measured on the floor' '>484<' 'press I/O must show' 'front_curtain 0, curtain_free sent 0, closing_allowed 0'; do
    grep -q "$words" demo/acceptance_sheet.html || fail "acceptance sheet lacks: $words"
done
grep -q 'At reduced speed' demo/acceptance_sheet.html && fail "a press without a reduced speed is asked for one"
grep -qE '>(Controller|I/O) must show|Signature found at (controller|I/O)' demo/*_sheet.html && fail "an end is not called by its place"
# linkdrill's own number is asked of nobody: it names the rehearsal
grep -q '0xF8DD5D6F' demo/acceptance_sheet.html || fail "the rehearsal has no identity"
grep -qE '<t[dh][^>]*>0xF8DD5D6F<' demo/*_sheet.html && fail "an end is asked for linkdrill's own signature"
grep -Eq 'WARNING|CAUTION' demo/report.html demo/link_sheet.html && fail "hazard words outside the acceptance sheet"

# Not mixed: another seed, scenario, content, version, telegram.
refused() {
    cp -r demo other
    "$@" || fail "could not prepare: $*"
    run 2 report other; one_line "$pattern"
    cmp -s demo/report.html other/report.html || fail "refused, but report.html was touched: $*"
    rm -rf other
}
pattern='^other: response.json and result.json differ in the scenario: '
refused "$LINKDRILL" response "$SOURCE/scenarios/glass_table/demand_in_a_fault.toml" --placings 200 --out other >/dev/null
pattern='^other: watchdog.json and result.json differ in the seed: "8" and "7"'
refused "$LINKDRILL" watchdog "$good" --seed 8 --out other >/dev/null
pattern='^other: watchdog.json and result.json differ in the linkdrill version: "0.0.9" and '
refused sed -i 's/"version": ".*"/"version": "0.0.9"/' other/watchdog.json
pattern='^other: response.json and result.json differ in the scenario.s content'
refused sed -i 's/"scenario_fingerprint": "0x../"scenario_fingerprint": "0xA5/' other/response.json
pattern='^other: residual.json is of the telegram "crc32_stamped", the scenario uses "crc32_carried"'
of_another() { "$LINKDRILL" residual "$SOURCE/scenarios/profiles/crc32_stamped.toml" --out other >/dev/null || [ $? = 1 ]; }
refused of_another
pattern='^other: measures.json is of the telegram "crc32_stamped", the scenario uses "crc32_carried"'
refused sed -i 's/"profile": "crc32_carried"/"profile": "crc32_stamped"/' other/measures.json
pattern='^other/result.json: is no JSON document, or not a whole one'
refused truncate -s 3000 other/result.json
pattern='^other: holds no result.json; first linkdrill run FILE --out other'
refused rm other/result.json

run 2 report nowhere;        one_line '^nowhere: no such folder'
run 2 report "$good";        one_line 'is no folder; name the one with the results'
mkdir empty;  run 2 report empty; one_line '^empty: holds no result.json'
run 2 report;                one_line 'FOLDER is missing'
run 2 report demo --out x;   one_line '^linkdrill: --out: does nothing in report'
run 2 report demo --seed 1;  one_line '^linkdrill: --seed: does nothing in report'
# A folder that linkdrill did not write is read, but nothing is put into it.
mkdir foreign && cp demo/*.json foreign/
run 3 report foreign;        one_line '^foreign: holds files that linkdrill did not write'
[ ! -e foreign/report.html ] || fail "wrote into a foreign folder"

# A full disk, played by a limit on the size of files: what was there stays, nothing half-written beside it.
before=$(cd demo && cat ./*; ls -A)
status=0
(ulimit -f 100; exec "$LINKDRILL" report demo) >out 2>err || status=$?
[ "$status" = 3 ] || fail "over the size limit: status $status"
one_line '; make room, or give --out'
[ "$(cd demo && cat ./*; ls -A)" = "$before" ] || fail "a full disk left something behind, or took something away"
if [ "$(id -u)" != 0 ]; then
    chmod a-w demo; run 3 report demo; one_line '^demo'; chmod u+w demo
fi

# Names may hold anything: they are shown, not obeyed.
cp -r "$SOURCE/scenarios/profiles" .
title='</script><script>alert(1)</script> <b> & | [a](b) `c`'
sed "s~^title.*~title = '$title'~; s~^plant.*~plant = '<i>\\&'~; s~press controller~<u>controller~" "$good" >hostile.toml
run 0 run hostile.toml --out hostile
for page in hostile/*.html; do
    grep -q '<b>\|<i>&\|<u>controller\|alert(1)</script>' "$page" && fail "$page: markup of a name is obeyed"
    grep -qF '&lt;/script&gt;&lt;script&gt;alert(1)' "$page" || fail "$page: the title is not shown as it is"
done
grep -qF '\</script\>\<script\>alert(1)' hostile/link_sheet.md || fail "link_sheet.md: the title is not escaped"

# A run of a million telegrams, ten thousand faults' worth of changes: the report stays small and says what it leaves out.
$python - "$good" >many.toml <<'PYTHON'
import sys
text = open(sys.argv[1]).read()
head = text[:text.index("[[fault]]")].replace('duration = "22 s"', 'duration = "5400 s"')
print(head + "".join(f'''[[fault]]
error = "corruption"
way = "random-bits"
count = 3
direction = "to-device"
at = "{2 + 5 * i} s"
''' for i in range(1000)))
PYTHON
run 0 run many.toml --out many --json
holds 'd["ends"]["controller"]["sent"] + d["ends"]["device"]["sent"] > 1000000 and len(d["injections"]) == 1000'
size=$(stat -c %s many/report.html)
[ "$size" -lt 5000000 ] || fail "report.html of a million telegrams has $size bytes"
grep -q 'The first 250 of [0-9]* events' many/report.html || fail "a table that is cut does not say so"
grep -q 'changes are left out' many/report.html || fail "a time line that is thinned does not say so"
finish
