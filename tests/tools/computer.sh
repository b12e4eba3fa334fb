#!/usr/bin/env bash
# A computer that says no: hardly any memory or descriptors, and the end as the first process of a container. The right
# result or a refusal with its status, never an abort. What else goes wrong with computers: see the table in DEVELOPERS.md.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

# The status is one of those that a user is told, or 127: the loader itself had no room. A result is the right one.
sensible() {
    case $status in
        0) [ ! -e want ] || cmp -s out want || fail "another result: $*" ;;
        3) [ "$(wc -l <err)" -le 3 ] || fail "status 3 with more than a line: $* $(cat err)" ;;
        127) grep -q -i 'shared\|memory\|loading' err || fail "status 127: $* $(cat err)" ;;
        *) fail "status $status: $* $(cat out err)" ;;
    esac
}
limited() { # WHICH VALUE ARGUMENTS...
    local which=$1 value=$2
    shift 2
    status=0
    (ulimit "$which" "$value"; exec "$LINKDRILL" "$@") >out 2>err </dev/null || status=$?
    sensible "ulimit $which $value: $*"
    tally[$status]=$((${tally[$status]:-0} + 1))
}

# with sanitizers it reserves more than any limit
memory=(16000 30000 40000 60000 150000)
(ulimit -v 4000000; "$LINKDRILL" --version >/dev/null 2>&1) || memory=()
[ ${#memory[@]} -gt 0 ] || echo "memory is not limited: this program reserves too much"

for command in "run $good --json --out here" "campaign $good --trials 300 --json --jobs 2" "check $good --json"; do
    rm -f want
    "$LINKDRILL" $command >all 2>/dev/null
    cp all want
    declare -A tally=()
    for kilobytes in "${memory[@]}"; do limited -v $kilobytes $command; done
    for descriptors in 3 4 5 6 8 16; do limited -n $descriptors $command; done
    [ "${tally[0]:-0}" -ge 1 ] || fail "no limit was wide enough: $command"
    echo "$command: $(for s in "${!tally[@]}"; do printf 'status %s %s times  ' "$s" "${tally[$s]}"; done)"
done
rm -f want

# As the first process of its own, where signals without a handler are not heard.
if unshare --fork --pid true 2>/dev/null; then
    unshare --fork --pid --kill-child "$LINKDRILL" campaign "$good" --trials 400000 --store first.sqlite --json >out 2>err &
    outside=$!
    for _ in $(seq 100); do
        sleep 0.1
        inside=$(pgrep -P $outside || true)
        [ -n "$inside" ] && [ -s first.sqlite ] && break
    done
    sleep 0.3
    kill -TERM "$inside"
    status=0
    wait $outside || status=$?
    [ "$status" = 130 ] || fail "status $status after SIGTERM as the first process: $(cat err)"
    [ "$(ls first.sqlite*)" = first.sqlite ] || fail "not one file after SIGTERM: $(ls first.sqlite*)"
    grep -q -- '--resume' err out || fail "nobody says how it goes on: $(cat out err)"
else
    echo "not looked at: no process can be the first of a namespace here"
fi
finish
