#!/usr/bin/env bash
# The schemas of scenarios, profiles and drills, by a validator that is not ours: what ships fits and names them, every
# key is described, and what is kept beside the files is what the program prints.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

"$SOURCE/tools/keys/renew" --look "$LINKDRILL" >out 2>&1 || fail "$(cat out)"
for kind in scenario profile module drill; do
    run 0 schema "$kind"
    cp out "$kind.json"
    run 0 schema "$kind" --json
    cmp -s out "$kind.json" || fail "$kind: another document with --json"
done
/usr/bin/python3 -B "$SOURCE/tests/tools/input_schema.py" . >out 2>&1 || fail "$(cat out)"
cat out
run 2 schema plant;             one_line 'KIND: "plant" is not known here; write scenario, profile, module or drill'
run 2 schema;                   one_line KIND
run 2 schema scenario --seed 3; one_line -- '--seed'
finish
