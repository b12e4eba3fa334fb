#!/usr/bin/env bash
# Ends taken for each other, and telegrams of one link of a cell at another: what check, run and campaign say of them.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"
cp -r "$SOURCE/scenarios/profiles" .
cell=$SOURCE/scenarios/glass_line/cell.toml

# A device that was told to be the controller: no end refuses anything, so the page says which setting it is.
sed '/^\[\[fault\]\]/,$d' "$good" >quiet.toml
sed 's/^address = "0x0021"/&\nrole = "controller"/' quiet.toml >role.toml
run 1 check role.toml
has 'role of press I/O'
has 'mend at press I/O: device'
run 1 run role.toml
has 'Kept apart by role of press I/O: device for press controller, controller for press I/O'
has 'rejected by address'
run 1 run role.toml --json
holds 'd["verdict"] == "fail" and not d["link_started"] and d["dangerous"] == []'
holds 'all(e["rejected"]["authentication"] == e["received"] > 0 and e["refusal"] is None for e in d["ends"].values())'
# A controller that was told to be a device: both wait.
sed 's/^address = "0x0010"/&\nrole = "device"/' quiet.toml >waits.toml
run 1 run waits.toml --json
holds 'd["verdict"] == "fail" and all(e["sent"] == e["received"] == 0 for e in d["ends"].values())'
sed 's/^address = "0x0021"/&\nrole = "controller"/' waits.toml >both.toml
run 2 run both.toml
one_line '^both.toml:[0-9]+: device.role: each end has the other one.s role'

# Both addresses exchanged at the device.
sed -e 's/^address = "0x0010"/&\npeer_address = "0x0021"/' -e 's/^address = "0x0021"/address = "0x0010"\npeer_address = "0x0021"/' \
    "$good" >exchanged.toml
run 1 check exchanged.toml
has 'own and other address'
has 'see the design which end is 0x0010'
run 1 run exchanged.toml
has 'start refused: address of press controller differs'
grep -q 'Kept apart by' out && fail "told twice"

# Two links of a cell exchange telegrams: one fault, a row in each link, and the ends that got them rejected them.
sed -e '/^error = "loss"/d' -e '/^lasting = "0.3 s"/d' -e 's/^way = "drop"/way = "swap"/' -e 's/^direction = "both"//' \
    -e 's/detected_by = "time-expectation" }/detected_by = ["authentication", "time-expectation"] }/' "$cell" >swap.toml
run 0 check swap.toml
"$LINKDRILL" run swap.toml --json >out 2>err || [ $? = 1 ] || fail "$(cat err)"
holds '[(i["link"], i["other_link"]) for i in d["injections"] if i["fault"] == "swap"][:2] == [("infeed", "bridge"), ("bridge", "infeed")]'
holds 'all(i["detected_by"] == "authentication" and i["telegrams"] == 2 for i in d["injections"] if i["fault"] == "swap")'
holds 'd["dangerous"] == [] and d["spurious_trips"] == 0'
run 0 run swap.toml
has 'addressing, swapped with link'
run 2 campaign swap.toml --link infeed --trials 10
one_line '^swap.toml:[0-9]+: fault\[1\]: is between this link and "bridge"'
run 0 campaign "$cell" --link infeed --trials 10 --quiet
# a file with one link has no other
sed 's/^way = "neighbour"/&\nother_link = "bridge"/' "$good" >one.toml
run 2 check one.toml
one_line 'other_link: means nothing in a file with one link'
finish
