#pragma once
// What the desk refuses, and what mends it: every kind of refusal stands in one table, which says whether a press mends
// it, whether there is nothing to mend, or who else can. The page shows the mends as buttons beside the words.
#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/desk/refusal.hpp"
#include "tools/desk/fields.hpp"
#include "tools/text/value.hpp"

namespace tools {

enum class Refused : std::uint8_t {
    foreign_page,  ///< only a page of another program, or of a bench that is no more, asks so
    nothing_open,
    nothing_to_take_back,
    file_not_read,
    example_typed,
    not_opened,
    no_template,
    name_unfit,
    name_taken,
    value_refused,
    value_stale,
    text_refused,
    block_needed,
    example_without_name,
    changed_by_others,
    not_saved,
    folder_gone,
    no_question,
    draft_not_kept,
    plays_the_file,
    bench_old,
    nothing_done,
    replaces_blocks,
    stop_not_kept,
    nothing_before_stop,
    blocks_not_written,
    other_times_there,
    times_refused,
    times_not_written,
    lists_unsaved,
    lists_not_placed,
    too_much_work,
    work_not_begun,
    rehearsal_runs,
    not_under_way,
    count_unfit,
    bench_hurries,
    nothing_came,
    when_unfit,
    telegram_gone,
    telegram_on_its_way,
    so_already,
    least_hold,
    held_by_file,
    reset_too_early,
    reset_waits,
    no_machine,
    which_machine,
    emergency_stop,
    link_not_running,
    stop_asked_for,
    end_busy,
    fault_elsewhere,  ///< that fault is possible, but not there
    fault_nowhere,
    too_many,
};

enum class Mending : std::uint8_t {
    press,      ///< a button does what is missing, or leads to where it is done
    nothing,    ///< it is as was asked for
    elsewhere,  ///< nothing at the desk can: the words say what, and who
};

struct RefusalRule {
    Refused kind;
    std::string_view name;  ///< for the page
    Mending mending;
};
inline constexpr std::array refusal_rules{
    RefusalRule{Refused::foreign_page, "foreign-page", Mending::press},
    RefusalRule{Refused::nothing_open, "nothing-open", Mending::press},
    RefusalRule{Refused::nothing_to_take_back, "nothing-to-take-back", Mending::nothing},
    RefusalRule{Refused::file_not_read, "file-not-read", Mending::press},
    RefusalRule{Refused::example_typed, "example-typed", Mending::press},
    RefusalRule{Refused::not_opened, "not-opened", Mending::press},
    RefusalRule{Refused::no_template, "no-template", Mending::elsewhere},
    RefusalRule{Refused::name_unfit, "name-unfit", Mending::press},
    RefusalRule{Refused::name_taken, "name-taken", Mending::press},
    RefusalRule{Refused::value_refused, "value-refused", Mending::press},
    RefusalRule{Refused::value_stale, "value-stale", Mending::press},
    RefusalRule{Refused::text_refused, "text-refused", Mending::press},
    RefusalRule{Refused::block_needed, "block-needed", Mending::elsewhere},
    RefusalRule{Refused::example_without_name, "example-without-name", Mending::press},
    RefusalRule{Refused::changed_by_others, "changed-by-others", Mending::press},
    RefusalRule{Refused::not_saved, "not-saved", Mending::press},
    RefusalRule{Refused::folder_gone, "folder-gone", Mending::press},
    RefusalRule{Refused::no_question, "no-question", Mending::nothing},
    RefusalRule{Refused::draft_not_kept, "draft-not-kept", Mending::press},
    RefusalRule{Refused::plays_the_file, "plays-the-file", Mending::press},
    RefusalRule{Refused::bench_old, "bench-old", Mending::press},
    RefusalRule{Refused::nothing_done, "nothing-done", Mending::press},
    RefusalRule{Refused::replaces_blocks, "replaces-blocks", Mending::press},
    RefusalRule{Refused::stop_not_kept, "stop-not-kept", Mending::press},
    RefusalRule{Refused::nothing_before_stop, "nothing-before-stop", Mending::press},
    RefusalRule{Refused::blocks_not_written, "blocks-not-written", Mending::elsewhere},
    RefusalRule{Refused::other_times_there, "other-times-there", Mending::press},
    RefusalRule{Refused::times_refused, "times-refused", Mending::elsewhere},
    RefusalRule{Refused::times_not_written, "times-not-written", Mending::press},
    RefusalRule{Refused::lists_unsaved, "lists-unsaved", Mending::press},
    RefusalRule{Refused::lists_not_placed, "lists-not-placed", Mending::press},
    RefusalRule{Refused::too_much_work, "too-much-work", Mending::press},
    RefusalRule{Refused::work_not_begun, "work-not-begun", Mending::press},
    RefusalRule{Refused::rehearsal_runs, "rehearsal-runs", Mending::press},
    RefusalRule{Refused::not_under_way, "not-under-way", Mending::nothing},
    RefusalRule{Refused::count_unfit, "count-unfit", Mending::press},
    RefusalRule{Refused::bench_hurries, "bench-hurries", Mending::press},
    RefusalRule{Refused::nothing_came, "nothing-came", Mending::press},
    RefusalRule{Refused::when_unfit, "when-unfit", Mending::press},
    RefusalRule{Refused::telegram_gone, "telegram-gone", Mending::press},
    RefusalRule{Refused::telegram_on_its_way, "telegram-on-its-way", Mending::press},
    RefusalRule{Refused::so_already, "so-already", Mending::nothing},
    RefusalRule{Refused::least_hold, "least-hold", Mending::press},
    RefusalRule{Refused::held_by_file, "held-by-file", Mending::press},
    RefusalRule{Refused::reset_too_early, "reset-too-early", Mending::press},
    RefusalRule{Refused::reset_waits, "reset-waits", Mending::press},
    RefusalRule{Refused::no_machine, "no-machine", Mending::elsewhere},
    RefusalRule{Refused::which_machine, "which-machine", Mending::press},
    RefusalRule{Refused::emergency_stop, "emergency-stop", Mending::press},
    RefusalRule{Refused::link_not_running, "link-not-running", Mending::press},
    RefusalRule{Refused::stop_asked_for, "stop-asked-for", Mending::press},
    RefusalRule{Refused::end_busy, "end-busy", Mending::press},
    RefusalRule{Refused::fault_elsewhere, "fault-elsewhere", Mending::press},
    RefusalRule{Refused::fault_nowhere, "fault-nowhere", Mending::elsewhere},
    RefusalRule{Refused::too_many, "too-many", Mending::press},
};

/// A kind that was added without its rule does not compile.
constexpr bool has_rule_for_each() {
    for (std::size_t i = 0; i < refusal_rules.size(); ++i)
        if (static_cast<std::size_t>(refusal_rules[i].kind) != i) return false;
    return refusal_rules.size() == static_cast<std::size_t>(Refused::too_many) + 1;
}
static_assert(has_rule_for_each(), "each kind of refusal needs its rule, in the order of the kinds");

constexpr const RefusalRule& rule_of(Refused kind) { return refusal_rules[static_cast<std::size_t>(kind)]; }

/// A button: it posts, or does something of the page itself.
struct Mend {
    std::string words;                 ///< what it does, as the button says it
    std::string path = {};             ///< where it posts; empty: an act of the page
    Value::Object fields = {};         ///< what it posts
    std::string act = {}, value = {};  ///< of the page
};
Mend posting(std::string words, std::string path, Value::Object fields = {});
Mend at_page(std::string words, std::string act, std::string value = {});
Mend load_again();
/// The same request once more, with these fields altered.
Mend again(std::string words, std::string path, const Fields& asked, const Fields& altered = {});

/// What a request is answered.
struct DeskAnswer {
    struct Refusal {
        Refused kind;
        std::string words;
    };
    std::optional<Refusal> refused = {};
    std::vector<Mend> mends = {};
    std::string note = {};  ///< of what was done: something to know of it
    int status = 200;
};
/// With mends where the rule of that kind says that a press mends it; without them all that is left is load_again().
DeskAnswer refuse(Refused kind, std::string words, std::vector<Mend> mends = {});

Value told(const std::vector<Mend>& mends);

}  // namespace tools
