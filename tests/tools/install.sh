#!/usr/bin/env bash
# An installed copy, used from an empty folder by somebody who has no clone: it finds its own files, every example of the
# help works as it stands, and nothing is put outside the prefix.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
export HOME=$work
prefix=$work/prefix
build=$(dirname -- "$LINKDRILL")
mkdir here && cmake --install "$build" --prefix "$prefix" >installed 2>&1 || fail "cmake --install: $(cat installed)"
LINKDRILL=$prefix/bin/linkdrill
share=$prefix/share/linkdrill

# Everything that was installed is below the prefix, and there.
grep -E '^-- (Installing|Up-to-date): ' installed | sed 's/^-- [^:]*: //' >files
[ "$(wc -l <files)" -ge 100 ] || fail "only $(wc -l <files) files were installed"
while IFS= read -r file; do
    case $file in "$prefix"/*) ;; *) fail "outside the prefix: $file" ;; esac
    [ -e "$file" ] || fail "not there, or a link to nothing: $file"
done <files
for file in share/man/man1/linkdrill.1 share/bash-completion/completions/linkdrill share/zsh/site-functions/_linkdrill \
    share/fish/vendor_completions.d/linkdrill.fish share/doc/linkdrill/copyright share/doc/linkdrill/changelog \
    share/doc/linkdrill/README.md share/linkdrill/schema/result.schema.json; do
    [ -s "$prefix/$file" ] || fail "$file is missing"
done
diff -r "$SOURCE/scenarios" "$share/scenarios" >difference || fail "other scenarios: $(cat difference)"

# The links of all pages hold where they lie now, by their words (a browser) and by the folders they are in (the system).
doc=$prefix/share/doc/linkdrill
find "$prefix" -name '*.md' >pages
while IFS= read -r page; do
    folder=$(dirname -- "$page")
    grep -oE '\]\([^)#: ]+' "$page" | cut -c3- >links || true
    while IFS= read -r link; do
        [ -e "$folder/$link" ] || fail "$page: of what was not installed: $link"
        [ -e "$(realpath -ms -- "$folder/$link")" ] || fail "$page: not there for a browser: $link"
    done <links
    cat links >>all_links
done <pages
for page in README.md DEVELOPERS.md scenarios/README.md tools/watchdog/README.md tools/cluster/README.md; do
    [ -s "$doc/$page" ] || fail "no page $page"
done
[ "$(wc -l <all_links)" -ge 60 ] || fail "only $(wc -l <all_links) links"

cd here || exit 1
# Another folder may hold nothing that helps: neither the sources nor a copy.
run 0
grep -q '^Try it:    linkdrill examples scenarios && linkdrill run scenarios/' ../out || fail "the greeting: $(cat ../out)"
run 0 run "$share/scenarios/veneer_press/all_errors.toml" --quiet
cp "$share/scenarios/glass_table/worn_cable.toml" alone.toml
run 0 check alone.toml
sed 's/^profile = .*/profile = "crc32_carrid"/' alone.toml >mistyped.toml
run 2 check mistyped.toml; one_line '^mistyped.toml:[0-9]+: .*"crc32_carrid" is no profile .* "crc32_carried"'
echo 'title = ' >broken.toml
run 2 check broken.toml; one_line "see $share/scenarios/README.md"
run 2 check nothing.toml; one_line "nearest: $share/scenarios/"
rm -r ./*

run 0 run - --quiet <"$share/scenarios/veneer_press/all_errors.toml"

# Its own files elsewhere, and nowhere.
mv "$share" "$work/moved"
LINKDRILL_DATA=$work/moved run 0 examples by_variable
run 2 examples nowhere; one_line 'LINKDRILL_DATA'
run 0; grep -q '^Try it:    linkdrill run FILE$' ../out || fail "no own files: $(cat ../out)"
mv "$work/moved" "$share"
LINKDRILL_DATA=$work/here run 2 crc --list; one_line "^$work/here: LINKDRILL_DATA: holds no folder scenarios"
LINKDRILL_DATA='' run 0 crc --list

# train finds its drills, is reached, and ends by Ctrl-C.
"$LINKDRILL" train --port 0 >../train_out 2>../train_err &
train=$!
for _ in $(seq 300); do grep -q '^Ctrl-C' ../train_out && break; sleep 0.1; done
grep -q '^Training .* 24 drills$' ../train_out || fail "train: $(cat ../train_out ../train_err)"
grep -q "^Drills     $share/scenarios/drills$" ../train_out || fail "train took other drills: $(cat ../train_out)"
kill -TERM "$train"
wait "$train" && fail "train ended with 0"

# Each command's example as its help tells it here, in a folder of its own; first what it says comes first.
"$LINKDRILL" --help | sed -n 's/^  \([a-z][a-z]*\) .*/\1/p' >../commands
[ "$(wc -l <../commands)" -ge 18 ] || fail "only these commands: $(cat ../commands)"
while IFS= read -r command; do
    mkdir "$work/example" && cd "$work/example" || exit 1
    run 0 "$command" --help
    mapfile -t lines < <(sed -n 's/^\(First:    \|Example:  \)linkdrill /"$LINKDRILL" /p' ../out)
    case $command in
        train | desk | roundtrips) lines=() ;;  # until Ctrl-C, as above; needs another computer
        campaign) lines=("${lines[@]/100000/200}") ;;  # as many as the test has time for
    esac
    for line in "${lines[@]}"; do
        status=0
        eval "$line" >../out 2>../err </dev/null || status=$?
        [ "$status" -le 1 ] && [ -s ../out ] || fail "$command: $line: status $status: $(cat ../err)"
    done
    case $command in train | desk | roundtrips) ;; *) [ ${#lines[@]} -ge 1 ] || fail "$command: no example" ;; esac
    cd "$work" && rm -r "$work/example"
done <"$work/commands"
finish
