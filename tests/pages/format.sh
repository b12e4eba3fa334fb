#!/usr/bin/env bash
# The format of the pages' modules and of their tests: 100 columns. To put it right: FORMAT=write, and once more.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
modules=$(dirname -- "$LINKDRILL")/browser
"$SOURCE/tests/browser/setup" "$modules" || { fail "the formatter is missing"; finish; }
files=("$SOURCE"/tools/pages/*.js "$SOURCE"/tools/*/pages/*.js "$SOURCE"/tools/*/pages/*.d.ts
    "$SOURCE"/tests/pages/*.mjs)

"$modules/node_modules/.bin/prettier" --config "$SOURCE/tests/pages/prettier.json" "--${FORMAT:-check}" \
    "${files[@]}" >format.txt 2>&1 || fail "$(grep warn format.txt)"

# The formatter leaves templates and comments as they are; only sentences may be longer.
long=$(awk 'length > 100 { print FILENAME ":" FNR }' $(printf '%s\n' "${files[@]}" | grep -v '/texts_'))
[ -z "$long" ] || fail "more than 100 columns: $long"
finish
