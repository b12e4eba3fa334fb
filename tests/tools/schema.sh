#!/usr/bin/env bash
# Every document fits its JSON Schema in tools/schema, by a validator that is not ours; and what is bent does not.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
mkdir -p runs documents

i=0
for scenario in "$SOURCE"/scenarios/*/*.toml; do
    case $scenario in */profiles/* | */modules/* | */drills/* | *fault_free_day*) continue ;; esac
    i=$((i + 1))
    "$LINKDRILL" run "$scenario" --out "runs/$i" --quiet >out 2>err || [ $? = 1 ] || fail "$scenario: $(cat err)"
done
[ "$i" -ge 15 ] || fail "only $i scenarios"
# a pair of bits has keys of its own
cp -r "$SOURCE/scenarios/profiles" .
sed 's/^cord_free = "0.1"$/&\nclosed_inverse = "0.3"/' "$SOURCE/scenarios/log_debarker/guards.toml" >pair.toml
cat >>pair.toml <<'TOML'
[[signal]]
name = "closed_inverse"
direction = "to-device"
inverse_of = "closed"
discrepancy = "50 ms"
TOML
run 0 run pair.toml --out runs/pair --quiet
grep -q '"second_bit": "closed_inverse"' runs/pair/result.json || fail "no second bit in the result"
grep -q '"inverse_of": "closed"' runs/pair/timeline.json || fail "no second bit in the time line"
# so has a fault between two links
sed -e 's/^error = "loss"/error = "addressing"/' -e 's/^way = "drop"/way = "swap"/' "$SOURCE/scenarios/glass_line/cell.toml" >crossed.toml
"$LINKDRILL" run crossed.toml --out runs/crossed --quiet >out 2>err || [ $? = 1 ] || fail "crossed: $(cat err)"
grep -q '"other_link": "bridge"' runs/crossed/result.json || fail "no other link in the result"
# and a link that never ran
sed 's/^watchdog = "45 ms"/watchdog = "9 ms"/; s/^cycle = "10 ms"/cycle = "8 ms"/; s/from = "0.2 ms", to = "0.35 ms"/from = "9 ms", to = "9 ms"/' \
    "$good" >never.toml
"$LINKDRILL" run never.toml --out runs/never --quiet >out 2>err || [ $? = 1 ] || fail "never: $(cat err)"
grep -q '"outcome": "never-ran"' runs/never/result.json || fail "no outcome of a link that never ran"
run 0 response "$good" --out runs/1 --placings 200
"$LINKDRILL" run "$good" --out runs/1 --quiet >out
for scenario in "$good" "$SOURCE/scenarios/glass_table/worn_cable.toml"; do
    name=$(basename "$scenario" .toml)
    "$LINKDRILL" watchdog "$scenario" --out "runs/$name" --quiet >out 2>err || [ $? = 1 ] || fail "watchdog: $(cat err)"
done
run 0 endurance "$good" --years 0.01 --out runs/1
for one in crc32_carried crc24_implied; do
    "$LINKDRILL" residual "$SOURCE/scenarios/profiles/$one.toml" --out "runs/$one" >out 2>err || [ $? = 1 ] ||
        fail "residual: $(cat err)"
done
"$LINKDRILL" residual "$good" --out runs/1 >out 2>err || [ $? = 1 ] || fail "residual of a scenario: $(cat err)"
line=$SOURCE/scenarios/glass_line/cell.toml
run 0 endurance "$line" --years 0.0003 --out runs/line
for what in watchdog residual; do
    "$LINKDRILL" $what "$line" --out runs/line >out 2>err || [ $? = 1 ] || fail "$what of a cell: $(cat err)"
done
run 0 campaign "$line" --trials 20 --json;              cp out documents/campaign.2.json
run 0 report runs/1 --json;                             cp out documents/report.1.json
run 0 check "$good" --json;                             cp out documents/check.1.json
run 1 check "$differ" --json;                           cp out documents/check.2.json
run 0 check "$profile" --json;                          cp out documents/check.3.json
run 1 check "$differ" --all --json;                     cp out documents/check.7.json
run 0 check "$SOURCE/scenarios/drills" --json;          cp out documents/check.4.json
run 0 check "$line" --json;                             cp out documents/check.5.json
run 1 check "$SOURCE/scenarios/glass_line/exchanged_stations.toml" --json; cp out documents/check.6.json
/usr/bin/python3 -c 'import json
for n, differ in ((5, 0), (6, 2)):
    d = json.load(open(f"documents/check.{n}.json"))
    assert d["kind"] == "cell" and [one["name"] for one in d["links"]] == ["infeed", "bridge", "table"], d["links"]
    assert sum(one["differ"] for one in d["links"]) == len(d["differences"]) == differ, d["differences"]' || fail "check of a cell"
run 2 check none.toml --json;                           cp out documents/error.1.json
sed 's/^cycle = .*/cycle = "20"/; s/^braking = /brakng = /' "$good" >two.toml
run 2 check two.toml --json;                            cp out documents/error.0.json
run 2 check two.toml "$good" --json;                    cp out documents/check_files.1.json
run 2 report runs/none --json;                          cp out documents/error.2.json
run 0 crc CRC-32/ISCSI --text a --json;                 cp out documents/crc.1.json
run 0 distance --edition 2010 --case right-angle --time "90 ms" --resolution "14 mm" --json
cp out documents/distance.1.json
# whoever answers ends before whoever asks, so that there is a gap
"$LINKDRILL" roundtrips --answer :0 --for '2 s' --json >documents/roundtrips_answer.1.json 2>said &
answerer=$!
for _ in $(seq 50); do grep -q 'answers at' said && break; sleep 0.1; done
"$LINKDRILL" roundtrips --ask "127.0.0.1:$(sed -n 's/.*answers at .*:\([0-9]*\)$/\1/p' said)" --cycle '50 ms' --for '3 s' --json \
    >documents/roundtrips.1.json 2>err || [ $? = 1 ] || fail "roundtrips: $(cat err)"
wait "$answerer"
# commands that this build may have
for optional in "measures $profile --trials 100" "campaign $good --trials 20"; do
    "$LINKDRILL" --help | grep -q "^  ${optional%% *} " || continue
    # shellcheck disable=SC2086 # the words are meant to be split
    "$LINKDRILL" $optional --json >"documents/${optional%% *}.1.json" 2>err || [ $? = 1 ] || fail "$optional: $(cat err)"
done

/usr/bin/python3 - "$SOURCE/tools/schema" <<'PYTHON' || fail "documents and schemas"
import copy, glob, json, os, sys

import jsonschema

validators = {}
for path in glob.glob(sys.argv[1] + "/*.schema.json"):
    schema = json.load(open(path))
    jsonschema.Draft202012Validator.check_schema(schema)
    validators[os.path.basename(path).split(".")[0]] = jsonschema.Draft202012Validator(schema)

failures, seen, bent = 0, {}, 0


def say(text):
    global failures
    failures += 1
    print(text)


def damaged(schema, document):
    """Copies of the document, each with one thing wrong that the schema speaks of: a key gone, a value of another kind."""
    if document is None or schema.get("type") == ["object", "null"] and document is None:
        return
    if isinstance(document, dict):
        for key in schema.get("required", []):
            copied = dict(document)
            del copied[key]
            yield copied
        for key, inner in schema.get("properties", {}).items():
            if key not in document:
                continue
            yield {**document, key: {"no": "such"} if not isinstance(document[key], dict) else 5}
            for wrong in damaged(inner, document[key]):
                yield {**document, key: wrong}
    elif isinstance(document, list) and document and "items" in schema:
        yield [*document[:-1], ["no such"]]
        for wrong in damaged(schema["items"], document[0]):
            yield [wrong, *document[1:]]


files = glob.glob("runs/*/*.json") + glob.glob("documents/*.json")
for path in sorted(files):
    kind = os.path.basename(path).split(".")[0]
    document = json.load(open(path))
    if kind == "result" and "links" in document:  # of several links
        kind = "cell"
    elif kind == "plant" and "links" in document:
        kind = "cell_plant"
    elif kind in ("endurance", "watchdog") and "links" in document:
        kind = "cell_" + kind
    elif kind.startswith(("timeline_", "plant_")):  # one of them
        kind = kind.split("_")[0]
    if kind not in validators:
        say(f"{path}: there is no schema for it")
        continue
    for error in list(validators[kind].iter_errors(document))[:5]:
        say(f"{path}: {'.'.join(map(str, error.absolute_path))}: {error.message[:200]}")
    first = kind not in seen or "drills" in document or kind == "check" and "links" in document
    seen[kind] = seen.get(kind, 0) + 1
    if first:
        for wrong in damaged(validators[kind].schema, document):
            bent += 1
            if validators[kind].is_valid(wrong):
                say(f"{path}: a damaged copy passes for whole: {json.dumps(wrong)[:300]}")

for kind in set(validators) - set(seen) - {"measures", "campaign"}:
    say(f"{kind}: no document was looked at")
# every number of milliseconds is one, whatever schema it is in
for path in files:
    def walk(value, key, under_ms):
        if isinstance(value, dict):
            for k, v in value.items():
                walk(v, k, under_ms or key.endswith("_ms"))
        elif isinstance(value, list):
            for v in value:
                walk(v, key, under_ms)
        elif (key.endswith("_ms") or under_ms) and value is not None and isinstance(value, (str, bool)):
            say(f"{path}: {key} is {value!r}, no number")
    walk(json.load(open(path)), "", False)
print(f"{sum(seen.values())} documents of {len(seen)} kinds, {bent} damaged copies")
sys.exit(failures > 0)
PYTHON

# CSV opens in a spreadsheet: one header row with units, numbers in every cell under a unit.
/usr/bin/python3 - <<'PYTHON' || fail "CSV"
import csv, glob
files = glob.glob("runs/*/injections.csv") + glob.glob("runs/*/demands.csv")
assert len(files) >= 30
for path in files:
    header, *rows = list(csv.reader(open(path, newline="")))
    timed = [i for i, name in enumerate(header) if name.endswith("(ms)")]
    assert len(timed) >= 5 and not any(name.endswith("_ms") for name in header), header
    for row in rows:
        assert len(row) == len(header), row
        for i in timed:
            assert row[i] == "" or float(row[i]) >= 0, (path, header[i], row[i])
PYTHON
for junit in runs/*/junit.xml; do
    xmllint --noout --schema "$SOURCE/tests/tools/junit.xsd" "$junit" 2>err || fail "$junit: $(cat err)"
done
finish
