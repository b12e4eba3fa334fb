#!/usr/bin/env bash
# With --json standard output holds exactly one JSON document, whatever happens.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

run 0 run "$good" --json --out good
holds 'd["verdict"] == "pass" and d["as_expected"] is True and d["mode"] == "virtual" and d["digest"].startswith("0x")'
holds 'all(set(i["safe_state_ms"]) == {"controller", "device"} for i in d["injections"]) and len(d["injections"]) > 5'
cmp -s out good/result.json || fail "result.json is not the document printed"
run 0 check "$good" --json
holds 'd["ok"] is True and d["differences"] == [] and d["compared"] > 10 and d["signature"].startswith("0x")'
run 1 check "$differ" --json
holds 'd["ok"] is False and len(d["differences"]) >= 4 and all(x["mend"] for x in d["differences"])'
run 0 check "$profile" --json
holds 'd["ok"] is True and d["profile"]["total_bytes"] > 0'
run 0 crc CRC-32/ISCSI --text 123456789 --json
holds 'd == {"name": "CRC-32/ISCSI", "value": "0xE3069283"}'
run 0 crc --width 8 --polynomial 0xFD --initial 0x0 --final-xor 0x0 --text a --json
holds 'd["name"] is None and d["value"].startswith("0x")'
run 0 crc --list --json
holds 'len(d["catalogue"]) > 10'

for wrong in "rnu" "run" "run --bogus" "run $good --seed -1" "run none.toml" "check none.toml" "crc NONE --text a" "--bogus" ""; do
    # shellcheck disable=SC2086 # the words are meant to be split
    run 2 --json $wrong
    holds 'list(d) == ["error"] and list(d["error"]) == ["file", "line", "key", "message"] and d["error"]["message"]'
    [ "$(wc -l <err)" = 1 ] || fail "not one line on standard error for: $wrong"
done

sed 's/^duration.*/duration = "45"/' "$good" >wrong.toml
run 2 run wrong.toml --json
holds 'd["error"]["file"] == "wrong.toml" and d["error"]["line"] > 0 and d["error"]["key"] == "duration"'
: >file
run 3 run "$good" --json --out file/below
holds 'd["error"]["file"].startswith("file")'
finish
