#!/usr/bin/env bash
# The dossier as a reader has it: in Chromium, by keyboard, on paper, and before an independent checker of HTML.
. "$(dirname -- "${BASH_SOURCE[0]}")/../tools/common.bash"
modules=$(dirname -- "$LINKDRILL")/browser
pictures=${PICTURES:-$(dirname -- "$LINKDRILL")/pictures}
mkdir -p "$pictures"

# Without the browser and its driver nothing is shown: that is a failure, never a pass.
"$SOURCE/tests/browser/setup" "$modules" || { fail "the driver of the browser is missing"; finish; }
for program in chromium tidy pdftotext pdfinfo; do
    command -v "$program" >/dev/null || fail "no $program; tools/setup tests"
done
[ "$failures" = 0 ] || finish

# by the path that the README uses, so that the pictures are the same wherever they are made
cp -r "$SOURCE/scenarios" .
good=scenarios/veneer_press/all_errors.toml profile=scenarios/profiles/crc32_carried.toml
run 0 run "$good" --out demo
run 0 response "$good" --out demo --placings 200
run 0 watchdog "$good" --out demo
run 1 residual "$profile" --sil 3 --telegrams-per-hour 360000 --out demo
run 0 report demo

for page in demo/*.html; do
    tidy -q -e "$page" >tidy.txt 2>&1 || fail "$page is no valid HTML: $(head -n 5 tidy.txt)"
    [ ! -s tidy.txt ] || fail "$page: $(head -n 5 tidy.txt)"
done
# the checker does find what is wrong
sed 's~</table>~~' demo/link_sheet.html >broken.html
tidy -q -e broken.html >/dev/null 2>&1 && fail "tidy finds nothing wrong with a table that is not closed"

timeout 600 node "$SOURCE/tests/browser/report.mjs" "$modules" demo "$pictures" >browser.txt 2>&1 ||
    fail "in the browser: $(grep -v '^CELLS' browser.txt | head -n 30)"
grep -q 'checks in the browser' browser.txt || fail "the browser's checks did not come to their end"
grep 'checks in the browser' browser.txt

# Each text of a page is on paper, within the sheet.
for name in report link_sheet acceptance_sheet; do
    pdftotext -raw "$pictures/$name.pdf" text.txt
    [ $name != acceptance_sheet ] || [ -z "${PICTURES:-}" ] || pdftoppm -r 84 -f 3 -l 3 -singlefile -gray -png "$pictures/$name.pdf" \
        "$pictures/readme-acceptance"
    pdftotext -bbox "$pictures/$name.pdf" boxes.txt
    grep "^CELLS $name.html " browser.txt | cut -d' ' -f3- >cells.json
    /usr/bin/python3 - "$name" "$(pdfinfo "$pictures/$name.pdf" | sed -n 's/^Pages: *//p')" <<'PYTHON' || fail "$name on paper"
import json, re, sys
name, pages = sys.argv[1], int(sys.argv[2])
text = re.sub(r"[\s\f]+", "", open("text.txt", encoding="utf-8").read())
cells = json.load(open("cells.json"))
assert len(cells) > 30, cells
missing = [cell for cell in cells if cell not in text]
# a cell that goes on over a page's end has the foot between its halves
missing = [cell for cell in missing if not (cell[:12] in text and cell[-12:] in text)]
problems = [f"not on paper: {cell[:100]}" for cell in missing[:10]]
expected = {"report": range(8, 16), "link_sheet": range(1, 2), "acceptance_sheet": range(5, 9)}[name]
if pages not in expected:
    problems.append(f"{pages} pages, not {expected.start} to {expected.stop - 1}")
pages_found = re.findall(r"<page width=\"([\d.]+)\" height=\"([\d.]+)\">(.*?)</page>", open("boxes.txt").read(), re.S)
for page in pages_found:
    wide, high = float(page[0]), float(page[1])
    short, long = sorted((wide, high))
    if abs(short - 595) > 2 or abs(long - 842) > 2:
        problems.append(f"a page of {wide} x {high} points is no A4")
    if name == "acceptance_sheet" and wide < high:
        problems.append("an acceptance sheet is not across")
    words = re.findall(r"yMax=\"([-\d.]+)\">(?!</)", page[2])
    lowest = max((float(y) for y in words if float(y) < high - 45), default=0)
    # the margins aside; beneath the last text a line to write on
    # what a report ends with ends where it does
    is_last = page[2] == pages_found[-1][2]
    if not (name == "report" and is_last) and lowest + 28 < 28 + (high - 70) / 2:
        problems.append(f"a page is more than half empty: its last line stands at {lowest:.0f} of {high:.0f} points")
    for left, top, right, bottom, word in re.findall(
        r"xMin=\"([-\d.]+)\" yMin=\"([-\d.]+)\" xMax=\"([-\d.]+)\" yMax=\"([-\d.]+)\">(.*?)<", page[2]):
        if float(left) < 10 or float(top) < 5 or float(right) > wide - 10 or float(bottom) > high - 5:
            problems.append(f"runs out of the page: {word}")
print("\n".join(problems[:12]))
print(f"{name}: {pages} pages, {len(cells)} texts found on paper")
sys.exit(bool(problems))
PYTHON
done
finish
