#include "tools/report/cell_dossier.hpp"

#include <algorithm>
#include <charconv>
#include <iterator>
#include <string_view>
#include <utility>

#include "proto/contract.hpp"
#include "tools/pages/embedded.hpp"
#include "tools/report/fits_schema.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// A kind of document, by what its file's name begins with.
struct Kind {
    std::string_view name;
    Value Dossier::*place;
    const char* command;         ///< that leaves it
    const EmbeddedFile* schema;  ///< of one that is about a link, or about all
    const EmbeddedFile* of_cell;
};
constexpr Kind kinds[] = {
    {"result", &Dossier::result, "run", nullptr, &cell_schema},
    {"plant", &Dossier::plant, "run", &plant_schema, &cell_plant_schema},
    {"acceptance", &Dossier::acceptance, "run", nullptr, &acceptance_schema},
    {"timeline", &Dossier::time_line, "run", &timeline_schema, nullptr},
    {"response", &Dossier::response, "response", &response_schema, &response_schema},
    {"watchdog", &Dossier::watchdog, "watchdog", &watchdog_schema, nullptr},
    {"link_residual", &Dossier::link_residual, "residual", &link_residual_schema, nullptr},
    {"residual", &Dossier::residual, "residual", &residual_schema, &residual_schema},
    {"measures", &Dossier::measures, "measures", &measures_schema, &measures_schema},
    {"campaign", &Dossier::campaign, "campaign", &campaign_schema, nullptr},
    {"endurance", &Dossier::endurance, "endurance", &endurance_schema, nullptr},
    {"cell_residual", &Dossier::link_residual, "residual", nullptr, nullptr},
};

constexpr const char* changed_content = "scenario's content (its file was changed in between)";

struct Found {
    const Kind* kind = nullptr;
    std::string file;
    Value document;
    std::optional<std::size_t> link;  ///< by its file's number, for what run leaves; else by its fingerprint
};

Failure in_folder(const std::string& folder, std::string message) {
    return {Status::bad_input, folder, 0, {}, std::move(message)};
}

const Kind* kind_of(std::string_view file) {
    constexpr std::string_view ending = ".json";
    if (!file.ends_with(ending)) return nullptr;
    file.remove_suffix(ending.size());
    for (const Kind& kind : kinds) {
        if (file == kind.name) return &kind;
        if (file.starts_with(kind.name) && file[kind.name.size()] == '_') return &kind;
    }
    return nullptr;
}

/// Of "plant_2.json": 1.
std::optional<std::size_t> link_of(std::string_view file, const Kind& kind) {
    if (kind.name != "plant" && kind.name != "timeline") return std::nullopt;
    std::size_t number = 0;
    const char* begin = file.data() + kind.name.size();
    if (*begin != '_') return std::nullopt;
    const auto [end, error] = std::from_chars(begin + 1, file.data() + file.size(), number);
    if (error != std::errc{} || std::string_view(end) != ".json" || number == 0) return std::nullopt;
    return number - 1;
}

bool of_profile(const Kind& kind) { return kind.place == &Dossier::residual || kind.place == &Dossier::measures; }

/// Of all links together, so no document of one of them: the report has no place for it.
bool is_set_aside(const Found& one) {
    if (one.kind->name == "cell_residual") return true;
    const bool has_links_of_its_own = one.kind->place == &Dossier::endurance || one.kind->place == &Dossier::watchdog;
    return has_links_of_its_own && !is_null(look_up(one.document, "links"));
}

/// What it comes to, if that is not as it should be: nobody must take the report for the whole of it.
std::string bad_news_of(const Found& one) {
    const Value& met = look_up(one.document, "met");
    if (!is_null(met) && !met.is_true()) return ", which is NOT MET,";
    if (one.kind->place == &Dossier::watchdog)
        for (const Value& link : look_up_list(one.document, "links"))
            if (is_null(look_up(link, "window")))
                return ", with no window for link " + look_up_text(link, "name") + ",";
    for (const char* key : {"verdict", "sum_verdict"})
        if (const std::string word = look_up_text(one.document, key); !word.empty() && word != "pass")
            return ", whose " + std::string(key == std::string_view("verdict") ? "verdict" : "verdict on the sum") +
                   " is " + word + ",";
    return {};
}

std::string caution_of(const Found& one) {
    return "what " + one.file + " says of all links together" + bad_news_of(one) +
           " is not shown here; what linkdrill " + one.kind->command + " --link NAME finds of one link is";
}

proto::Result<std::vector<Found>, Failure> parsed(const std::string& folder, const std::vector<EvidenceFile>& files) {
    std::vector<Found> all;
    for (const EvidenceFile& file : files) {
        const Kind* kind = kind_of(file.name);
        if (kind == nullptr) continue;
        const auto read = from_json(file.content);
        if (!read) return in_folder(folder + "/" + file.name, read.error() + "; run its command again");
        if (read.value().object() == nullptr)
            return in_folder(folder + "/" + file.name, "is no document of linkdrill; run its command again");
        all.push_back({kind, file.name, read.value(), link_of(file.name, *kind)});
    }
    // in the order of the kinds, and by name
    std::stable_sort(all.begin(), all.end(), [](const Found& a, const Found& b) {
        return std::pair(a.kind, std::string_view(a.file)) < std::pair(b.kind, std::string_view(b.file));
    });
    return all;
}

std::optional<Failure> misfitting(const std::string& folder, const std::vector<Found>& all) {
    for (const Found& one : all) {
        const std::string whole = std::string(one.kind->name) + ".json";
        const bool of_cell = one.kind->of_cell != nullptr && (one.file == whole || one.kind->schema == nullptr);
        const EmbeddedFile* file = of_cell ? one.kind->of_cell : one.kind->schema;
        const auto schema = from_json(file->content);
        proto::require(schema.ok(), "a schema that is built in cannot be read");
        if (const auto wrong = misfit(one.document, schema.value()))
            return Failure{Status::bad_input, folder + "/" + one.file, 0, wrong->key,
                           wrong->why + "; run linkdrill " + one.kind->command + " again with the same --out"};
    }
    return std::nullopt;
}

bool same(const Value& a, const Value& b) { return is_null(a) || is_null(b) || scalar_text(a) == scalar_text(b); }

Failure not_mixed(const std::string& folder, const Found& one, const std::string& what) {
    return in_folder(folder, one.file + " and result.json differ in the " + what +
                                 "; they are not mixed. Run linkdrill " + one.kind->command +
                                 " again with the same --out, or remove " + one.file);
}

/// What the run says of that link alone, as a document of one link has it.
Value result_of_link(const Value& cell, const Value& link) {
    const std::string name = look_up_text(link, "name");
    Value::Object out{{"title", look_up_text(cell, "title") + ", link " + name}, {"link", name}};
    for (const char* key : {"scenario", "plant", "version", "mode", "seed", "time_scale", "digest", "as_expected"})
        out.push_back({key, look_up(cell, key)});
    for (const Value::Member& member : *link.object())
        if (member.key != "name" && member.key != "digest") out.push_back(member);
    Value::List injections, demands;
    for (const Value& injection : look_up_list(cell, "injections"))
        if (look_up_text(injection, "link") == name) injections.push_back(injection);
    for (const Value& demand : look_up_list(cell, "demands")) {
        const Value::List& hops = look_up_list(demand, "hops");
        if (std::any_of(hops.begin(), hops.end(), [&](const Value& hop) { return look_up_text(hop, "link") == name; }))
            demands.push_back(demand);
    }
    out.push_back({"injections", std::move(injections)});
    out.push_back({"demands", std::move(demands)});
    return out;
}

/// Whose telegrams it is about, by the identity or the name of their profile.
bool is_of_profile_of(const Found& one, const Dossier& link) {
    const bool residual = one.kind->place == &Dossier::residual;
    const std::string theirs = look_up_text(one.document, residual ? "profile_identity" : "profile");
    return theirs.empty() || theirs == look_up_text(link.plant, "profile", residual ? "identity" : "name");
}

/// Of another run or content, though it is only spoken of.
std::optional<Failure> mixed(const std::string& folder, const Dossier& cell, const Found& one) {
    for (const char* key : {"scenario", "version", "seed"})
        if (!same(look_up(one.document, key), look_up(cell.result, key))) return not_mixed(folder, one, key);
    if (same(look_up(one.document, "scenario_fingerprint"), look_up(cell.result, "scenario_fingerprint")))
        return std::nullopt;
    return not_mixed(folder, one, changed_content);
}

/// Puts a document that another command has left to what it is of.
std::optional<Failure> put(const std::string& folder, Dossier& cell, Found one) {
    for (const char* key : {"scenario", "version", "seed"}) {
        if (of_profile(*one.kind) && key == std::string_view("seed")) continue;
        if (!same(look_up(one.document, key), look_up(cell.result, key))) return not_mixed(folder, one, key);
    }
    if (of_profile(*one.kind)) {
        const bool any = std::any_of(cell.links.begin(), cell.links.end(),
                                     [&](const Dossier& link) { return is_of_profile_of(one, link); });
        if (!any)
            return in_folder(folder, one.file + " is of a telegram that no link of the cell uses; run linkdrill " +
                                         one.kind->command + " with one of theirs, or remove " + one.file);
        cell.*one.kind->place = std::move(one.document);
        return std::nullopt;
    }
    const Value& print = look_up(one.document, "scenario_fingerprint");
    if (scalar_text(print) == scalar_text(look_up(cell.result, "scenario_fingerprint"))) {
        cell.*one.kind->place = std::move(one.document);
        return std::nullopt;
    }
    for (Dossier& link : cell.links)
        if (scalar_text(print) == scalar_text(look_up(link.plant, "scenario_fingerprint"))) {
            link.*one.kind->place = std::move(one.document);
            return std::nullopt;
        }
    return not_mixed(folder, one, changed_content);
}

/// What run itself has left.
std::optional<Failure> put_own(const std::string& folder, Dossier& cell, std::vector<Found>& all) {
    for (Found& one : all) {
        if (one.kind->command != std::string_view("run") || one.link) continue;
        cell.*one.kind->place = one.document;
    }
    if (is_null(cell.result) || is_null(cell.plant))
        return in_folder(folder, "holds no " + std::string(is_null(cell.result) ? "result.json" : "plant.json") +
                                     "; first linkdrill run FILE --out " + folder);
    for (const Value& link : look_up_list(cell.result, "links")) {
        Dossier one;
        one.result = result_of_link(cell.result, link);
        cell.links.push_back(std::move(one));
    }
    for (Found& one : all) {
        if (!one.link) continue;
        if (*one.link >= cell.links.size())
            return in_folder(folder, one.file + " is of a link that result.json does not have; remove it");
        if (!same(look_up(one.document, "link"), look_up(cell.links[*one.link].result, "link")))
            return not_mixed(folder, one, "link");
        cell.links[*one.link].*one.kind->place = one.document;
    }
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        if (is_null(cell.links[i].plant))
            return in_folder(folder, "holds no plant_" + std::to_string(i + 1) +
                                         ".json; run linkdrill run again with the same --out");
    for (const Found& one : all)
        if (one.kind->command == std::string_view("run"))
            for (const char* key : {"scenario", "version", "seed"})
                if (!same(look_up(one.document, key), look_up(cell.result, key))) return not_mixed(folder, one, key);
    return std::nullopt;
}

}  // namespace

bool may_be_of_cell(const std::string& file) { return kind_of(file) != nullptr; }

bool is_of_cell(const std::vector<EvidenceFile>& files) {
    for (const EvidenceFile& file : files)
        if (file.name == "result.json")
            if (const auto read = from_json(file.content)) return !is_null(look_up(read.value(), "links"));
    return false;
}

proto::Result<Dossier, Failure> cell_dossier_of(const std::string& folder, const std::vector<EvidenceFile>& files,
                                                Looked looked) {
    auto read = parsed(folder, files);
    if (!read) return read.error();
    std::vector<Found>& all = read.value();
    const auto aside =
        std::stable_partition(all.begin(), all.end(), [](const Found& one) { return !is_set_aside(one); });
    const std::vector<Found> set_aside(std::make_move_iterator(aside), std::make_move_iterator(all.end()));
    all.erase(aside, all.end());
    if (looked == Looked::by_schema)
        if (auto failure = misfitting(folder, all)) return *failure;
    Dossier cell;
    if (auto failure = put_own(folder, cell, all)) return *failure;
    for (Found& one : all) {
        cell.files.push_back(one.file);
        if (one.kind->command == std::string_view("run")) continue;
        if (auto failure = put(folder, cell, std::move(one))) return *failure;
    }
    for (const Found& one : set_aside) {
        if (auto failure = mixed(folder, cell, one)) return *failure;
        cell.cautions.push_back(caution_of(one));
    }
    return cell;
}

}  // namespace tools
