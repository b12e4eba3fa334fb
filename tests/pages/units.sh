#!/usr/bin/env bash
# What of the pages needs no browser, with the vocabulary as the program sends it.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
command -v node >/dev/null || { fail "no node; tools/setup tests"; finish; }

(cd "$SOURCE" && exec "$LINKDRILL" train --port 0) >served.txt 2>&1 &
server=$!
for _ in $(seq 100); do
    address=$(grep -om 1 'http://127.0.0.1:[0-9]*' served.txt) && break
    sleep 0.1
done
node -e 'fetch(process.argv[1]).then(reply => reply.text()).then(text => process.stdout.write(text))' \
    "$address/api/words" >words.json || fail "the program sends no words: $(cat served.txt)"
kill "$server"
wait "$server" 2>/dev/null

WORDS=$work/words.json node --test "$SOURCE"/tests/pages/*.test.mjs >units.txt 2>&1 ||
    fail "$(grep -B 2 -A 25 '^ *not ok' units.txt | head -n 80)"
grep -Eq '^(# |ℹ )tests [1-9]' units.txt || fail "nothing was tested: $(head -n 5 units.txt)"
grep -E '^(# |ℹ )tests' units.txt
finish
