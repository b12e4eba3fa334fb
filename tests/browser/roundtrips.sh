#!/usr/bin/env bash
# The page of measured round trips as a reader has it: in Chromium, on a phone and a desk, light and dark.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
modules=$(dirname -- "$LINKDRILL")/browser
pictures=${PICTURES:-$(dirname -- "$LINKDRILL")/pictures}
mkdir -p "$pictures"
"$SOURCE/tests/browser/setup" "$modules" || { fail "the driver of the browser is missing"; finish; }
command -v chromium >/dev/null || { fail "no chromium; tools/setup tests"; finish; }

# whoever answers ends before whoever asks, so that something is lost
"$LINKDRILL" roundtrips --answer :0 --for '2 s' 2>said >/dev/null &
answerer=$!
for _ in $(seq 50); do grep -q 'answers at' said && break; sleep 0.1; done
"$LINKDRILL" roundtrips --ask "127.0.0.1:$(sed -n 's/.*answers at .*:\([0-9]*\)$/\1/p' said)" --cycle '10 ms' --for '3 s' \
    --out measured >out 2>err || [ $? = 1 ] || fail "measuring: $(cat err)"
wait "$answerer"

timeout 200 node "$SOURCE/tests/browser/roundtrips.mjs" "$modules" measured "$pictures" >browser.txt 2>&1 ||
    fail "in the browser: $(head -n 30 browser.txt)"
grep 'checks in the browser' browser.txt || fail "the browser's checks did not come to their end"
finish
