#include "sim/reading/read_drill.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <system_error>

#include "sim/reading/drill_expect.hpp"
#include "sim/reading/drill_places.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/training/measured_here.hpp"
#include "sim/training/score.hpp"

namespace sim {
namespace {

namespace fs = std::filesystem;
using Zero = Section::Zero;

constexpr std::int64_t number_max = 999;

/// An action takes no longer: the plant is simulated meanwhile, and people look on.
constexpr Duration work_longest = proto::seconds(3600);

/// One of `words`, which stand in the order of the values of `E`; nothing if it is none of them, which is said.
template <class E, class Words>
std::optional<E> word_at(Section& section, std::string_view key, const Words& words) {
    const std::vector<std::string> names(words.begin(), words.end());
    holds(section, key, KeyShape::choice(names));
    const std::optional<std::string> typed = section.text(key);
    if (!typed) return std::nullopt;
    const auto found = std::find(words.begin(), words.end(), *typed);
    if (found != words.end()) return static_cast<E>(found - words.begin());
    section.none_of(key, *typed, names);
    return std::nullopt;
}

std::string needed_text(Section& section, std::string_view key) {
    std::string text = section.text(key).value_or("");
    if (!section.has(key))
        section.missing(key, "\"...\"");
    else if (text.empty() && !section.wrong(key))
        section.say(key, "is empty; write a sentence");
    return text;
}

/// `links`: names, none of a plant with one.
Finding read_finding(Section section, const std::vector<std::string>& links) {
    Finding finding;
    if (!links.empty()) finding.link = section.texts("link");
    for (const std::string& link : finding.link)
        if (std::find(links.begin(), links.end(), link) == links.end()) section.none_of("link", link, links);
    finding.where = section.texts("where");
    finding.what = section.texts("what");
    check_words(section, "where", finding.where, where_words);
    check_words(section, "what", finding.what, what_words);
    section.finish();
    return finding;
}

std::vector<std::string> ids_of(const std::vector<ActionCard>& cards) {
    std::vector<std::string> names;
    names.reserve(cards.size());
    for (const ActionCard& card : cards) names.push_back(card.id);
    return names;
}

std::vector<Reasoned> read_actions(Section& top, std::string_view key, const std::vector<ActionCard>& cards) {
    std::vector<Reasoned> actions;
    const std::vector<std::string> names = ids_of(cards);
    for (Section& section : top.tables(key)) {
        Reasoned action{needed_text(section, "action"), needed_text(section, "why")};
        if (!action.id.empty() && std::find(names.begin(), names.end(), action.id) == names.end())
            section.none_of("action", action.id, names);
        section.finish();
        actions.push_back(std::move(action));
    }
    return actions;
}

std::vector<Needed> read_needed(Section& top, const std::vector<ActionCard>& cards) {
    std::vector<Needed> all;
    const std::vector<std::string> names = ids_of(cards);
    const auto known = [&](const std::string& id) { return std::find(names.begin(), names.end(), id) != names.end(); };
    for (Section& section : top.tables("needed")) {
        Needed needed{needed_text(section, "action"), needed_text(section, "why"), section.texts("or")};
        if (!needed.id.empty() && !known(needed.id)) section.none_of("action", needed.id, names);
        for (const std::string& other : needed.others)
            if (!known(other)) section.none_of("or", other, names);
        section.finish();
        all.push_back(std::move(needed));
    }
    if (!top.has("needed") || (all.empty() && !top.wrong("needed")))
        top.missing("needed", R"([{ action = "...", why = "..." }])");
    if (all.size() > actions_max)
        top.say("needed", "has more actions than a trainee may choose, " + std::to_string(actions_max));
    return all;
}

/// What the place asks for before anything else; in every drill that does not say more, these.
std::vector<Reasoned> read_secure(Section& top) {
    std::vector<Reasoned> all;
    std::vector<std::string> names(conduct_words.begin(), conduct_words.end());
    // standstill is asked for by `must_be_stopped`, and what is dangerous is not asked for
    std::erase_if(names, [](const std::string& id) {
        return id == "leave-stopped" || id == "emergency-stop" || id == "acknowledge-first";
    });
    for (Section& section : top.tables("secure")) {
        Reasoned asked{needed_text(section, "conduct"), needed_text(section, "why")};
        holds(section, "conduct", KeyShape::choice(names));
        if (!asked.id.empty() && std::find(names.begin(), names.end(), asked.id) == names.end())
            section.none_of("conduct", asked.id, names);
        section.finish();
        all.push_back(std::move(asked));
    }
    if (all.empty()) all = {{"keep-out", ""}, {"tell-shift", ""}};
    return all;
}

/// How long an end had been on: longer than any other time in a file, so days are a unit too.
Duration read_on_since(Section& top, std::string_view key) {
    constexpr std::int64_t hour = 3600 * std::int64_t{1'000'000'000};
    constexpr std::array<Unit, 4> units{{{"s", hour / 3600}, {"min", hour / 60}, {"h", hour}, {"days", 24 * hour}}};
    constexpr std::int64_t most = 1000 * 24 * hour;
    const std::string text = top.text(key).value_or("12 days");
    holds(top, key, KeyShape::quantity(units, false, most));
    const auto parsed = parse_quantity(text, units);
    if (parsed && parsed.value() >= 0 && parsed.value() <= most) return Duration{parsed.value()};
    top.say(key, in_quotes(text) + R"( is no time that an end was on; write "0 s", "8 min", "2 h" or "12 days")");
    return {};
}

std::string read_clock(Section& top) {
    const std::string text = top.text("clock").value_or(std::string(clock_by_default));
    holds(top, "clock", KeyShape::pattern("^([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]$"));
    const auto two = [&](std::size_t from, int most) {
        const bool digits = text[from] >= '0' && text[from] <= '9' && text[from + 1] >= '0' && text[from + 1] <= '9';
        return digits && (text[from] - '0') * 10 + text[from + 1] - '0' <= most;
    };
    const bool hour = text.size() == 8 && two(0, 23) && text[2] == ':' && two(3, 59) && text[5] == ':' && two(6, 59);
    if (!hour) top.say("clock", in_quotes(text) + R"( is no hour; write it as "14:31:30")");
    return hour ? text : "00:00:00";
}

/// What is kept as evidence must be there to be read.
void check_evidence(Section& top, const Drill& drill) {
    for (const std::string& reading : drill.evidence)
        if (const std::string_view why =
                drill.cell ? why_not_measured(*drill.cell, reading) : why_not_measured(drill.scenario, reading);
            !why.empty())
            top.say("evidence", in_quotes(reading) + " cannot be read here: " + std::string(why) +
                                    "; take it away, or write another profile");
}

void read_answers(Section& top, const std::vector<ActionCard>& cards, const std::vector<std::string>& links,
                  Drill& drill) {
    drill.evidence = top.texts("evidence");
    std::vector<std::string> readings(reading_words.begin(), reading_words.end());
    readings.emplace_back(test_demand_reading);
    holds(top, "evidence", KeyShape::texts(readings));
    for (const std::string& reading : drill.evidence)
        if (std::find(readings.begin(), readings.end(), reading) == readings.end())
            top.none_of("evidence", reading, readings);
    if (drill.evidence.empty() && !top.wrong("evidence")) top.missing("evidence", "[\"telegrams\"]");
    if (auto right = top.table("right")) drill.right = read_finding(*right, links);
    if (!top.has("right")) top.missing("right", R"({ where = ["way-out"], what = ["loss"] })");
    if (!links.empty() && drill.right.link.empty() && top.has("right") && !top.wrong("right"))
        top.say("right", "names no link of several; write link = [" + in_quotes(links.front()) + "] in it");
    if (auto half = top.table("half")) drill.half.push_back(read_finding(*half, links));
    drill.half_why = top.text("half_why").value_or("");
    drill.needed = read_needed(top, cards);
    drill.helpful = read_actions(top, "helpful", cards);
    drill.no_help = read_actions(top, "no_help", cards);
    drill.dangers = read_actions(top, "danger", cards);
}

}  // namespace

namespace {

using Document = proto::Result<Node, FileError>;

proto::Result<std::vector<ActionCard>, FileError> cards_from(const Document& document, const std::string& path) {
    if (!document) return document.error();
    Problems problems(path);
    std::vector<ActionCard> cards = action_cards_from(document.value(), problems);
    if (problems.any()) return problems.first();
    return cards;
}

}  // namespace

std::vector<ActionCard> action_cards_from(const Node& document, Problems& problems) {
    using Kind = ActionCard::Kind;
    Section top(document, "", problems);
    std::vector<ActionCard> cards;
    for (Section& section : top.tables("card")) {
        ActionCard card;
        card.id = needed_text(section, "id");
        card.words = needed_text(section, "words");
        card.kind = section
                        .choice<Kind>("kind", {{"helps", Kind::helps},
                                               {"good-practice", Kind::good_practice},
                                               {"no-help", Kind::no_help},
                                               {"dangerous", Kind::dangerous}})
                        .value_or(Kind::helps);
        card.why = needed_text(section, "why");
        card.hands = section.flag("hands").value_or(false);
        card.does = word_at<Does>(section, "does", does_words).value_or(Does::talk);
        if (!section.has("does")) section.missing("does", "\"talk\"");
        card.place = word_at<WorkPlace>(section, "place", work_place_words).value_or(WorkPlace::outside);
        card.takes = section.duration("takes", Zero::allowed, work_longest).value_or(Duration{});
        section.finish();
        if (std::any_of(cards.begin(), cards.end(), [&](const ActionCard& other) { return other.id == card.id; }))
            section.say("id", in_quotes(card.id) + " is taken; write another name");
        cards.push_back(std::move(card));
    }
    top.finish();
    return cards;
}

proto::Result<std::vector<ActionCard>, FileError> read_action_cards(const std::string& path) {
    return cards_from(read_document(path), path);
}

proto::Result<std::vector<ActionCard>, FileError> action_cards_in(const std::string& text, const std::string& path) {
    return cards_from(document_from(text, path), path);
}

proto::Result<std::vector<ActionCard>, FileError> read_cards_of(const std::string& folder) {
    const fs::path file = fs::path(folder.empty() ? "." : folder) / "actions.toml";
    std::error_code error;
    if (!fs::exists(file, error))
        return FileError{.file = file.string(),
                         .line = 0,
                         .key = "",
                         .message = "is missing; drills need the action cards beside them, copy " +
                                    shipped_file("drills/actions.toml")};
    return read_action_cards(file.string());
}

void read_drill_keys(Section& top, const std::vector<ActionCard>& cards, const std::vector<std::string>& links,
                     Drill& drill) {
    drill.number = static_cast<unsigned>(top.integer("number", 1, number_max).value_or(1));
    if (!top.has("number")) top.missing("number", "1");
    drill.title = needed_text(top, "title");
    drill.story = needed_text(top, "story");
    drill.people = needed_text(top, "people");
    drill.secure = read_secure(top);
    const std::string family = needed_text(top, "family");
    drill.family = family.empty() ? 'A' : family.front();
    holds(top, "look_alikes", KeyShape::integers(1, number_max));
    if (const Node* alike = top.find("look_alikes"))
        for (const Node& item : alike->items) drill.look_alikes.push_back(static_cast<unsigned>(item.integer));
    drill.comes_after = top.duration("comes_after", Zero::refused, run_longest).value_or(proto::seconds(10));
    if (!top.has("comes_after")) top.missing("comes_after", "\"8 s\"");
    drill.returns_after = top.duration("returns_after", Zero::refused, run_longest);
    drill.about = top.duration("about", Zero::refused, run_longest).value_or(proto::seconds(600));
    drill.must_be_stopped = top.flag("must_be_stopped").value_or(false);
    drill.on_for = {read_on_since(top, "on_since_controller"), read_on_since(top, "on_since_device")};
    drill.clock = read_clock(top);
    drill.hints = {needed_text(top, "hint_where"), needed_text(top, "hint_compare"), needed_text(top, "hint_meaning")};
    drill.cause = needed_text(top, "cause");
    drill.debrief = needed_text(top, "debrief");
    read_answers(top, cards, links, drill);
    if (auto expect = top.table("expect")) drill.expect = read_expectation(*expect, links);
    if (!top.has("expect")) top.missing("expect", "{ request = false }");
    static_cast<void>(top.table("scenario"));                     // read with the plant
    holds(top, "variant", KeyShape::of(KeyShape::Kind::tables));  // taken out before
    drill.plant = needed_text(top, "plant");
}

namespace {

Drill drill_from(const Node& document, const std::string& path, const std::vector<ActionCard>& cards,
                 Problems& problems) {
    std::optional<DrillPlant> plant = plant_of(document, path, problems);
    const Node filled = plant ? with_places_filled(document, *plant, problems) : document;
    Section top(filled, "", problems);
    Drill drill;
    drill.file = path;
    read_drill_keys(top, cards, plant ? plant->link_names() : std::vector<std::string>{}, drill);
    if (drill.plant.empty() || !plant) {
        top.finish();
        return drill;
    }
    take_plant(drill, std::move(*plant), problems);
    if (!top.in_doubt({"scenario"})) check_evidence(top, drill);
    top.finish();
    return drill;
}

/// The document without its variants, and what each of them lays over it.
Node without_variants(Node document, const std::string& path, std::vector<Node>& variants, Problems& problems) {
    const auto found = std::find_if(document.members.begin(), document.members.end(),
                                    [](const Member& member) { return member.key == "variant"; });
    if (found == document.members.end()) return document;
    variants = found->value.items;
    const bool tables = !variants.empty() && std::all_of(variants.begin(), variants.end(),
                                                         [](const Node& one) { return one.kind == Node::Kind::table; });
    if (!tables)
        problems.say({.file = path,
                      .line = found->value.line,
                      .key = "variant",
                      .message = "is no list of tables; write [[variant]] for each"});
    document.members.erase(found);
    return document;
}

proto::Result<Drill, FileError> drill_from(const Document& document, const std::string& path,
                                           const std::vector<ActionCard>& cards) {
    if (!document) return document.error();
    Problems problems(path);
    Drill drill = drill_with_variants(document.value(), path, cards, problems);
    if (problems.any()) return problems.first();
    return drill;
}

}  // namespace

Drill drill_with_variants(const Node& document, const std::string& path, const std::vector<ActionCard>& cards,
                          Problems& problems) {
    std::vector<Node> variants;
    const Node written = without_variants(document, path, variants, problems);
    Drill drill = drill_from(written, path, cards, problems);
    for (const Node& variant : variants)
        if (!problems.any()) drill.variants.push_back(drill_from(laid_over(written, variant), path, cards, problems));
    return drill;
}

proto::Result<Drill, FileError> read_drill(const std::string& path, const std::vector<ActionCard>& cards) {
    return drill_from(read_document(path), path, cards);
}

proto::Result<Drill, FileError> drill_in(const std::string& text, const std::string& path,
                                         const std::vector<ActionCard>& cards) {
    return drill_from(document_from(text, path), path, cards);
}

proto::Result<DrillSet, FileError> read_drills(const std::string& folder) {
    DrillSet set;
    std::error_code unread;
    if (!fs::is_directory(folder, unread))
        return FileError{.file = folder,
                         .line = 0,
                         .key = "",
                         .message = "is no folder; a folder of drills holds actions.toml, plants/ and drills"};
    const proto::Result<std::vector<ActionCard>, FileError> cards = read_cards_of(folder);
    if (!cards) return cards.error();
    set.cards = cards.value();
    std::vector<std::string> files;
    std::error_code error;
    for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error))
        if (entry->path().extension() == ".toml" && entry->path().filename() != "actions.toml")
            files.push_back(entry->path().string());
    std::sort(files.begin(), files.end());
    for (const std::string& file : files) {
        proto::Result<Drill, FileError> drill = read_drill(file, set.cards);
        if (!drill) return drill.error();
        if (set.find(drill.value().number) != nullptr)
            return FileError{.file = file,
                             .line = 0,
                             .key = "number",
                             .message = "is taken by another drill of the folder; write another number"};
        set.drills.push_back(std::move(drill.value()));
    }
    if (set.drills.empty())
        return FileError{.file = folder,
                         .line = 0,
                         .key = "",
                         .message = "holds no drill; see " + shipped_file("drills/README.md") + " for what one is"};
    std::sort(set.drills.begin(), set.drills.end(), [](const Drill& a, const Drill& b) { return a.number < b.number; });
    return set;
}

}  // namespace sim
