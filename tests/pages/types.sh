#!/usr/bin/env bash
# The types that the pages' modules tell in JSDoc: a text, a word list or a member that is not there is found here.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
modules=$(dirname -- "$LINKDRILL")/browser
"$SOURCE/tests/browser/setup" "$modules" || { fail "the checker of types is missing"; finish; }
tsc=$modules/node_modules/.bin/tsc

"$tsc" -p "$SOURCE/tests/pages/tsconfig.json" >types.txt || fail "types: $(head -n 30 types.txt)"

# the checker looks at all modules, and does find what is wrong
"$tsc" -p "$SOURCE/tests/pages/tsconfig.json" --listFilesOnly >seen.txt
for module in "$SOURCE"/tools/pages/*.js "$SOURCE"/tools/*/pages/*.js; do
    grep -qxF "$module" seen.txt || fail "not looked at: $module"
    [ "$(wc -l <"$module")" -le 250 ] || fail "more than 250 lines: $module"
done
mkdir -p copy && cp -r "$SOURCE/tools" copy/ && mkdir -p copy/tests && cp -r "$SOURCE/tests/pages" copy/tests/
echo "import { t } from './texts.js'; t('no such text');" >copy/tools/training/pages/broken.js
"$tsc" -p copy/tests/pages/tsconfig.json >broken.txt && fail "a text that is not there is not found"
grep -q 'broken.js.*no such text' broken.txt || fail "something else was found: $(head -n 5 broken.txt)"
finish
