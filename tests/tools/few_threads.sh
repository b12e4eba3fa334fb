#!/usr/bin/env bash
# A computer that gives no threads, or not as many as are asked for (a container's limit): the same results, no abort.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
export HOME=$work
# of a program with sanitizers, the search for leaks wants a thread of its own
export ASAN_OPTIONS=${ASAN_OPTIONS:+$ASAN_OPTIONS:}detect_leaks=0
# the limit counts the processes of a user, and does not bind root: another one, who has no others, if we may be that one
as_another=()
[ "$(id -u)" != 0 ] || as_another=(setpriv --reuid 64999 --regid 64999 --clear-groups)
chmod 755 . && cp -r "$SOURCE/scenarios" . && chmod -R a+rX scenarios
if ! "${as_another[@]}" test -x "$LINKDRILL" -a -r scenarios/glass_table/over_radio.toml; then
    echo "not tried: another user may not use the program here, and the limit of threads does not bind this one"
    finish
fi

# limited THREADS COMMAND...: with so many processes and threads at most; leaves $work/out, $work/err and the status
limited() {
    local most=$1
    shift
    status=0
    # shellcheck disable=SC2016 # for the other shell
    "${as_another[@]}" timeout --kill-after 5 60 bash -c 'ulimit -u "$1"; shift; exec "$@"' - "$most" "$LINKDRILL" "$@" \
        >out 2>err || status=$?
}

[ ${#as_another[@]} != 0 ] && few=(2 4) || few=()
commands=(
    "response scenarios/glass_table/over_radio.toml --placings 200"
    "watchdog scenarios/glass_table/over_radio.toml --from 40ms --to 60ms --step 20ms"
    "measures scenarios/profiles/crc32_carried.toml --trials 10"
    "residual scenarios/profiles/crc32_carried.toml --data-bits 2000 --no-cache"
    "campaign scenarios/stage_lift/streaming_errors.toml --trials 3000"
    "endurance scenarios/veneer_press/all_errors.toml --years 0.002"
)
for command in "${commands[@]}"; do
    # shellcheck disable=SC2086 # the words are meant to be split
    "$LINKDRILL" $command --json --jobs 1 >expected 2>err
    right=$?
    [ $right -le 1 ] || fail "$command: status $right, $(cat err)"
    for most in 1 "${few[@]}"; do
        # shellcheck disable=SC2086
        limited "$most" $command --json --jobs 16
        [ $status = $right ] || fail "$command with $most threads at most: status $status, not $right: $(cat err)"
        cmp -s out expected || fail "$command with $most threads at most: another result"
    done
done

# The training goes on with one worker less, or says that it cannot; either way Ctrl-C ends it.
for most in 1 "${few[@]:-1}" 3; do
    status=0
    # what the one before wrote is no sign that this one runs: ended too early it is the shell that ends, not the program
    rm -f out err
    # shellcheck disable=SC2016
    "${as_another[@]}" bash -c 'ulimit -u "$1"; exec "$2" train --port 0' - "$most" "$LINKDRILL" >out 2>err &
    train=$!
    for _ in $(seq 100); do
        grep -qs 'http://' out err && break
        kill -0 $train 2>/dev/null || break
        sleep 0.1
    done
    # a job in the background may ignore Ctrl-C
    kill -TERM $train 2>/dev/null
    for _ in $(seq 100); do kill -0 $train 2>/dev/null || break; sleep 0.1; done
    kill -KILL $train 2>/dev/null && fail "train with $most threads at most does not end"
    wait $train || status=$?
    [ $status = 130 ] || { [ $status = 3 ] && one_line 'no thread'; } || fail "train with $most threads at most: status $status: $(cat err)"
done
finish
