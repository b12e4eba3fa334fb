#!/usr/bin/env bash
# The plant near the top of a report, as a reader has it in Chromium: of a link and of a cell, of rehearsals in which
# nothing was found and of such in which something was.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
modules=$(dirname -- "$LINKDRILL")/browser
pictures=${PICTURES:-$(dirname -- "$LINKDRILL")/pictures}
mkdir -p "$pictures"

"$SOURCE/tests/browser/setup" "$modules" || { fail "the driver of the browser is missing"; finish; }
for program in chromium tidy pdftotext; do
    command -v "$program" >/dev/null || fail "no $program; tools/setup tests"
done
[ "$failures" = 0 ] || finish

cp -r "$SOURCE/scenarios" .
run 0 run scenarios/veneer_press/all_errors.toml --out one_link --capture 0
run 0 run scenarios/glass_line/cell.toml --out a_cell --capture 0
# whose machine has its drive at the controller
run 0 run scenarios/stage_lift/streaming_errors.toml --out at_controller --capture 0
# nothing of it is as it should be: what a guard asks is not done, a machine runs on, a guard is forgotten, ends differ, a
# fault is dangerous, stations are exchanged
for name in log_debarker/{exchanged_reactions,reduced_speed_only,forgotten_guard} glass_table/four_settings_differ \
    veneer_press/frozen_data glass_line/exchanged_stations; do
    "$LINKDRILL" run "scenarios/$name.toml" --out "$(basename "$name")" --capture 0 >/dev/null || [ $? = 1 ] ||
        fail "$name did not run"
done
folders="one_link a_cell at_controller exchanged_reactions reduced_speed_only forgotten_guard four_settings_differ frozen_data exchanged_stations"
for folder in $folders; do
    tidy -q -e "$folder/report.html" >tidy.txt 2>&1 || fail "$folder: no valid HTML: $(head -n 5 tidy.txt)"
done

# shellcheck disable=SC2086  # a word is a folder
timeout 600 node "$SOURCE/tests/browser/report_plant.mjs" "$modules" "$pictures" $folders >browser.txt 2>&1 ||
    fail "in the browser: $(head -n 30 browser.txt)"
grep 'checks in the browser' browser.txt || fail "the browser's checks did not come to their end"

# on paper too: the letters of the drawing are letters there
for folder in one_link a_cell; do
    pdftotext -l 2 "$pictures/plant-$folder.pdf" text.txt
    for words in controller watchdog 'found'; do
        grep -q "$words" text.txt || fail "not on the first pages of $folder: $words"
    done
done
finish
