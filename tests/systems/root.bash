# What the tests of other systems share: a Debian in a folder of its own, in which the clone is built. Sourced, not run.
# Nothing of the computer's own packages changes, but for the program debootstrap, which must be there.
set -euo pipefail

source_dir=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/../.." && pwd)
me=tests/systems/$(basename -- "$0")
mirror=${LINKDRILL_MIRROR:-http://deb.debian.org/debian}

give_up() {
    echo "$me: $1" >&2
    exit "${2:-3}"
}

[ $# -eq 1 ] || give_up "wants one folder for the other system, kept for the next time: $me FOLDER" 2
[ "$(id -u)" -eq 0 ] || give_up "needs root for a system in a folder; run it as root"
command -v debootstrap >/dev/null || give_up "debootstrap is not here; apt-get install debootstrap"
command -v unshare >/dev/null || give_up "unshare is not here; apt-get install util-linux"
mkdir -p -- "$1"
root=$(cd -- "$1" && pwd)/system
results=$(dirname -- "$root")/results
mkdir -p "$results"

# Own mounts and processes, so that nothing of it is left when it ends.
inside() {
    unshare --mount --pid --fork --kill-child --mount-proc="$root/proc" chroot "$root" /usr/bin/env -i HOME=/root LC_ALL=C.UTF-8 \
        PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive "$@" </dev/null
}

# quietly NAME COMMAND...: what it says goes into a file, which is named if it fails.
quietly() {
    local log=$results/$1.log
    shift
    "$@" >"$log" 2>&1 || give_up "failed: $*; see $log, which ends with: $(tail -n 1 "$log")"
}

# system SUITE: that Debian with nothing but its base, if it is not there yet. It is made in a mount name space of its own,
# so that whatever ends it, none of this computer's file systems is left mounted in a folder that may be deleted.
system() {
    [ -e "$root/whole" ] && return
    ! grep -qF " $root/" /proc/self/mounts || give_up "something is mounted below $root; unmount it first"
    rm -rf --one-file-system -- "$root"
    quietly debootstrap unshare --mount debootstrap --variant=minbase "$1" "$root" "$mirror"
    touch "$root/whole"
}

# The files of the clone as they are, committed or not, without what was built of them. What differs from the last time is
# as new as this copy, whenever it was written: else it would look older than what was built of the copy before.
bring_clone() {
    local new=$root/linkdrill/new old=$root/linkdrill/source
    rm -rf --one-file-system -- "$new"
    mkdir -p "$new" "$old"
    git -C "$source_dir" ls-files -z --cached --others --exclude-standard |
        (cd "$source_dir" && xargs -0 ls -d -- 2>/dev/null | tar -cf - -T -) | tar -xmf - -C "$new"
    (cd "$new" && find . -type f -print0) | while IFS= read -r -d '' file; do
        ! cmp -s "$new/$file" "$old/$file" || touch -r "$old/$file" "$new/$file"
    done
    rm -rf --one-file-system -- "$old"
    mv -- "$new" "$old"
}

# native: the documents of this computer's own build.
native() {
    "$source_dir/tools/setup" program
    [ -e "$source_dir/build/CMakeCache.txt" ] ||
        cmake -S "$source_dir" -B "$source_dir/build" -G Ninja -D LINKDRILL_TESTS=OFF --log-level=WARNING
    quietly native cmake --build "$source_dir/build" --target linkdrill --parallel "$(nproc)"
    rm -rf -- "$results/native"
    "$source_dir/tests/systems/documents" "$results/native" "$source_dir/build/linkdrill" || give_up "the native build fails" 1
}

# foreign COMMAND...: the documents that the program in the other system writes, run by COMMAND.
foreign() {
    rm -rf --one-file-system -- "$root/linkdrill/documents" "$results/foreign"
    inside /linkdrill/source/tests/systems/documents /linkdrill/documents "$@" || give_up "the other build fails" 1
    mv -- "$root/linkdrill/documents" "$results/foreign"
}

compare() {
    local all
    all=$(cd "$results/native" && find . -type f | wc -l)
    [ "$all" -gt 100 ] || give_up "only $all documents were compared" 1
    if diff -rq "$results/native" "$results/foreign" >"$results/differences"; then
        echo "$me: $all documents, alike byte for byte"
        return
    fi
    sed -n 1,20p "$results/differences" >&2
    give_up "$(wc -l <"$results/differences") of $all documents differ, see $results" 1
}
