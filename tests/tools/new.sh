#!/usr/bin/env bash
# linkdrill new: each template is whole and passes; what is there is never written over.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0 new --list --json
/usr/bin/python3 -c '
import json
d = json.load(open("out"))["templates"]
assert len(d) >= 5 and all(t["shows"] for t in d), d
print("\n".join(t["name"] for t in d))' >names || fail "--list: $(cat out)"
run 0 new --list
while read -r name; do
    grep -q "^$name " out || fail "$name is not on the page"
done <names
while read -r name; do
    run 0 new "$name" "$name.toml"
    grep -q "^WRITTEN  $name.toml" out || fail "$name: $(cat out)"
    cmp -s <(tail -n +2 "$name.toml") <(tail -n +2 "$SOURCE/scenarios/templates/$name.toml") ||
        fail "$name is another file"
    # the schema is named where it lies
    schema=$(sed -n '1s!^#:schema file://!!p' "$name.toml")
    cmp -s "$schema" "$SOURCE/scenarios/scenario.schema.json" || fail "$name: no schema at '$schema'"
    grep -q 'YOURS' "$name.toml" || fail "$name marks nothing to alter"
    # from any folder, by profiles found by name
    run 0 check "$name.toml"
    grep -q '^ENDS AGREE' out || fail "check $name: $(cat out)"
    grep -Eqi 'caution|problem' out && grep -Ei -A3 'problem' out && fail "$name has a problem"
    run 0 run "$name.toml" --out "$name"
    grep -q '^PASS' out || fail "run $name: $(cat out)"
done <names

run 0 new --profiles --json
/usr/bin/python3 -c '
import json
d = json.load(open("out"))["profiles"]
assert {p["name"] for p in d} >= {"crc32_carried", "crc32_stamped"} and all(p["carries"] for p in d), d' ||
    fail "--profiles: $(cat out)"
run 0 new --profiles
grep -q '^crc32_carried ' out || fail "no profile on the page: $(cat out)"
sed 's/"crc32_carried"/"crc32_caried"/' rope_pull.toml >wrong.toml
run 2 check wrong.toml;  one_line 'nearest is "crc32_carried", and there are crc16_twice, .*linkdrill new --profiles'

# Nothing is written over, nothing is left of what cannot be written.
before=$(cat rope_pull.toml)
run 2 new rope_pull rope_pull.toml;  one_line '^rope_pull.toml: is there already'
[ "$(cat rope_pull.toml)" = "$before" ] || fail "a file was written over"
ln -s nowhere link
run 2 new rope_pull link;            one_line '^link: is there already'
run 3 new rope_pull no/where.toml;   one_line '^no/where.toml: '
run 2 new rope_pul mine.toml;        one_line 'TEMPLATE: "rope_pul" is none; nearest is "rope_pull"'
run 2 new rope_pull;                 one_line 'write a template and a new file'
run 2 new;                           one_line 'write a template and a new file'
run 2 new rope_pull a.toml b.toml;   one_line 'write a template and a new file'
run 2 new --list rope_pull a.toml;   one_line 'writes nothing'
run 2 new --list --profiles;         one_line 'another list'
run 2 new rope_pull -;               one_line 'FILE: write the name of a new file'
run 2 new rope_pull '';              one_line 'FILE: write the name of a new file'
[ ! -e mine.toml ] || fail "something was written"
status=0
(ulimit -f 1; trap '' XFSZ; "$LINKDRILL" new both_directions big.toml) >out 2>err || status=$?
[ "$status" = 3 ] || fail "a file too big: status $status, $(cat err)"
[ ! -e big.toml ] || fail "half a file was left"
finish
