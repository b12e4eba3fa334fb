// linkdrill residual: how often wrong bits pass a telegram's CRC, exactly, and whether that carries the claimed level.
#include <algorithm>
#include <charconv>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "proto/parameters.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/program/command.hpp"
#include "tools/program/ends_apart.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/one_link.hpp"
#include "tools/program/progress.hpp"
#include "tools/program/reachable.hpp"
#include "tools/residual/cell_residual.hpp"
#include "tools/residual/crc_choice.hpp"
#include "tools/residual/link_residual.hpp"
#include "tools/residual/residual_document.hpp"
#include "tools/residual/residual_page.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

std::optional<Failure> no_telegrams(const sim::Scenario& scenario) {
    if (auto apart = cannot_reach(scenario)) return apart;
    return telegrams_apart(scenario, "there are no telegrams of it to reckon with");
}

using proto::Result;

/// A number with or without decimals and exponent, of low..high.
Result<std::optional<double>, Failure> real(const Arguments& arguments, const char* name, double low, double high,
                                            const char* range) {
    const std::optional<std::string> typed = arguments.value(name);
    if (!typed) return std::optional<double>{};
    double value = 0;
    const auto [end, error] = std::from_chars(typed->data(), typed->data() + typed->size(), value);
    // written so that "nan" is refused too
    const bool fits = error == std::errc{} && end == typed->data() + typed->size() && value >= low && value <= high;
    if (!fits) return usage(name, in_quotes(typed->substr(0, 60)) + " is no number of this range; write " + range);
    return std::optional(value);
}

/// All options, as numbers.
struct Options {
    ResidualQuestion question;
    ResidualAsked asked;
    std::optional<unsigned> data_bits, scan_bytes;
    unsigned numbers_accepted = usual_numbers_accepted;
};

Result<Options, Failure> read_options(const Arguments& arguments) {
    Options out;
    sim::MethodInput& methods = out.question.methods;
    const auto whole = [&](const char* name, std::uint64_t low, std::uint64_t high,
                           auto into) -> std::optional<Failure> {
        const auto number = arguments.number(name, low, high);
        if (!number) return number.error();
        if (number.value()) into(static_cast<unsigned>(*number.value()));
        return std::nullopt;
    };
    const auto decimal = [&](const char* name, double low, double high, const char* range,
                             auto into) -> std::optional<Failure> {
        const auto number = real(arguments, name, low, high, range);
        if (!number) return number.error();
        if (number.value()) into(*number.value());
        return std::nullopt;
    };
    using Kind = sim::FieldStrength::Kind;
    constexpr const char* an_hour = "events an hour, 0 to 1e12, such as 1e-3";
    for (const std::optional<Failure>& failure : {
             // their upper limit depends on the CRC: told later, in one sentence
             whole("--data-bits", 1, 1'000'000, [&](unsigned n) { out.data_bits = n; }),
             whole("--scan-bytes", 1, proto::payload_bytes_max, [&](unsigned n) { out.scan_bytes = n; }),
             whole("--sil", 1, 4, [&](unsigned n) { methods.level = out.asked.level = n; }),
             whole("--receivers", 1, 1'000'000, [&](unsigned n) { methods.receivers = out.asked.receivers = n; }),
             whole("--numbers-accepted", 1, 1U << 16, [&](unsigned n) { out.numbers_accepted = n; }),
             whole("--address-bits", 0, 64,
                   [&](unsigned n) {
                       methods.address = {n ? Kind::carried : Kind::absent, n};
                   }),
             whole("--number-bits", 0, 64,
                   [&](unsigned n) {
                       methods.number = {n ? Kind::carried : Kind::absent, n};
                   }),
             decimal("--telegrams-per-hour", 1e-6, 1e12, "telegrams an hour that one receiver looks at, such as 360000",
                     [&](double v) { methods.telegrams_per_hour = out.asked.telegrams_per_hour = v; }),
             decimal("--bit-error-rate", 1e-18, 0.5, "a probability, 1e-18 to 0.5, such as 1e-2",
                     [&](double p) { out.question.bit_error_rate = p; }),
             decimal("--wrong-addresses-per-hour", 0, 1e12, an_hour,
                     [&](double v) { methods.wrong_address_per_hour = v; }),
             decimal("--wrong-times-per-hour", 0, 1e12, an_hour, [&](double v) { methods.wrong_time_per_hour = v; }),
             decimal("--masquerades-per-hour", 0, 1e12, an_hour, [&](double v) { methods.masquerade_per_hour = v; }),
             decimal("--minutes-between-errors", 1e-3, 1e9, "minutes, such as 60",
                     [&](double v) { methods.minutes_between_errors = v; }),
         })
        if (failure) return *failure;
    if (const auto method = arguments.value("--method")) {
        if (*method != "older" && *method != "newer" && *method != "rate-limit")
            return usage("--method", in_quotes(method->substr(0, 60)) + " is none; write older, newer or rate-limit");
        out.asked.method = *method == "rate-limit" ? "rate limit" : *method;
    }
    methods.numbers_accepted = out.numbers_accepted;
    return out;
}

Failure too_long(const std::string& where, const ResidualSubject& subject, unsigned most) {
    return usage(where, std::to_string(subject.data_bits) + " data bits and a CRC of " +
                            std::to_string(subject.generator.width) + " bits" +
                            (subject.copies == 2 ? ", twice," : "") + " make over " +
                            std::to_string(proto::telegram_bytes_max) + " bytes; write 1 to " + std::to_string(most));
}

std::optional<Failure> length_trouble(const std::string& where, const ResidualSubject& subject) {
    const unsigned most = data_bits_max(subject.generator.width, subject.copies);
    if (subject.data_bits <= most) return std::nullopt;
    return too_long(where, subject, most);
}

struct Work {
    Options options;
    WeightsCache cache;
    unsigned threads = 1;
    Progress::Shown shown = Progress::Shown::yes;

    /// Takes part `done` of `parts`.
    ResidualStudy study(const ResidualSubject& subject, Progress& progress, std::size_t done, std::size_t parts,
                        const std::string& detail) {
        const auto tell = [&](double share) {
            progress.tell((static_cast<double>(done) + share) / static_cast<double>(parts), detail);
        };
        tell(0);
        return study_residual(subject, options.question, cache, {.threads = threads, .progress = tell});
    }
};

Status status_of(LevelVerdict verdict) { return verdict == LevelVerdict::not_met ? Status::not_met : Status::done; }

Result<Finished, Failure> one(Work& work, const ResidualSubject& subject, Columns columns) {
    Progress progress("residual", work.shown);
    const ResidualStudy study = work.study(subject, progress, 0, 1, "");
    return Finished{status_of(verdict_of(study.methods, work.options.asked.method)),
                    describe(study, work.options.asked), page_of(study, work.options.asked, columns)};
}

Result<Finished, Failure> compare(Work& work, const std::string& list, Columns columns) {
    std::vector<ResidualSubject> subjects;
    for (std::size_t at = 0; at <= list.size();) {
        const std::size_t end = std::min(list.find(',', at), list.size());
        auto subject = crc_of("--compare", list.substr(at, end - at));
        if (!subject) return subject.error();
        if (!work.options.data_bits) return usage("--data-bits", "missing; write how many bits each CRC is to protect");
        subject.value().data_bits = *work.options.data_bits;
        if (const auto trouble = length_trouble("--data-bits", subject.value())) return *trouble;
        subjects.push_back(subject.value());
        at = end + 1;
    }
    constexpr std::size_t most = 50;
    if (subjects.size() > most) return usage("--compare", "too many CRCs; write 50 at most");
    Progress progress("residual", work.shown);
    std::vector<ResidualStudy> studies;
    for (std::size_t i = 0; i < subjects.size(); ++i)
        studies.push_back(work.study(subjects[i], progress, i, subjects.size(), subjects[i].name));
    const ResidualAsked& asked = work.options.asked;
    bool met = true;
    for (const ResidualStudy& study : studies)
        met = met && verdict_of(study.methods, asked.method) != LevelVerdict::not_met;
    return Finished{met ? Status::done : Status::not_met, describe_comparison(studies, asked),
                    page_of_comparison(studies, asked, columns)};
}

Result<Finished, Failure> scan(Work& work, const proto::Profile& profile, Columns columns) {
    const unsigned last = *work.options.scan_bytes;
    if (!proto::layout_of(profile, last))
        return usage("--scan-bytes", std::to_string(last) + " bytes of payload make this telegram longer than " +
                                         std::to_string(proto::telegram_bytes_max) + " bytes; write fewer");
    Progress progress("residual", work.shown);
    std::vector<ScannedLength> lengths;
    for (unsigned bytes = 1; bytes <= last; ++bytes)
        lengths.push_back({bytes, work.study(subject_of(profile, bytes, work.options.numbers_accepted), progress,
                                             bytes - 1, last, counted(bytes, "byte", "bytes"))});
    const ResidualAsked& asked = work.options.asked;
    const bool lost = asked.level && first_lost(lengths, asked.method) != 0;
    return Finished{lost ? Status::not_met : Status::done, describe_scan(lengths, asked),
                    page_of_scan(lengths, asked, columns)};
}

/// All links that each function of a cell crosses.
Result<Finished, Failure> of_cell(Work& work, const GivenFile& file, const Request& request) {
    const auto read = file.cell();
    if (!read) return read.error();
    const sim::WholeCell& cell = read.value();
    if (cell.functions.empty())
        return Failure{Status::bad_input, file.name(), 0, "function",
                       "is missing, and rates are added up over the links that a function crosses; write a "
                       "[[function]], or name one link with --link"};
    Progress progress("residual", work.shown);
    for (const sim::CellLink& link : cell.links)
        if (auto apart = no_telegrams(link.alone)) return *apart;
    const CellResidual found =
        residual_of_cell(cell, work.options.question, work.options.asked.method, work.cache,
                         {.threads = work.threads, .progress = [&](double share) { progress.tell(share, ""); }});
    return Finished{found.met() ? Status::done : Status::not_met, with_provenance(describe(found), cell.of_file()),
                    page_of(found, request.columns)};
}

/// Both ways of a scenario's link, by the level of its functions.
Result<Finished, Failure> of_scenario(Work& work, const GivenFile& file, const Request& request) {
    for (const char* option : {"--sil", "--telegrams-per-hour", "--receivers", "--data-bits", "--scan-bytes",
                               "--address-bits", "--number-bits"})
        if (request.arguments.has(option))
            return usage(option, "does not go with a scenario, which says it; take it away");
    if (file.has_several_links() && !request.arguments.has("--link")) return of_cell(work, file, request);
    const auto read = one_link(file, request.arguments);
    if (!read) return read.error();
    const sim::Scenario& scenario = read.value();
    if (auto apart = no_telegrams(scenario)) return *apart;
    Progress progress("residual", work.shown);
    const LinkResidual found =
        residual_of_link(scenario, work.options.question, work.cache,
                         {.threads = work.threads, .progress = [&](double share) { progress.tell(share, ""); }});
    const LevelVerdict verdict = verdict_of(found.methods, work.options.asked.method);
    Value::Object document = *describe(found).object();
    document.push_back({"scenario", scenario.file});
    document.push_back({"met", verdict == LevelVerdict::met});
    return Finished{status_of(verdict), with_provenance(document, scenario),
                    page_of(scenario.title, found, verdict, request.columns)};
}

Result<Finished, Failure> of_profile(Work& work, const GivenFile& file, Columns columns) {
    const auto read = file.profile();
    if (!read) return read.error();
    const proto::Profile& profile = read.value();
    const auto layout = proto::layout_of(profile, profile.payload_bytes);
    if (!layout || !profile.crc)
        return Failure{Status::bad_input,
                       file.name(),
                       0,
                       {},
                       "the telegram cannot be laid out; see " + sim::shipped_file("README.md")};
    take_fields(profile, work.options.question.methods);
    if (work.options.scan_bytes) return scan(work, profile, columns);
    ResidualSubject subject = subject_of(profile, profile.payload_bytes, work.options.numbers_accepted);
    if (work.options.data_bits && *work.options.data_bits != subject.data_bits) {
        subject.notes.push_back("with the " + std::to_string(*work.options.data_bits) +
                                " data bits that were asked for; the profile's own telegram has " +
                                std::to_string(subject.data_bits));
        subject.data_bits = *work.options.data_bits;
        if (const auto trouble = length_trouble("--data-bits", subject)) return *trouble;
    }
    auto found = one(work, subject, columns);
    if (found) {
        // which telegram it is, for whoever lays documents side by side
        Value::Object document = found.value().document.object() ? *found.value().document.object() : Value::Object{};
        document.push_back({"profile_identity", sim::written_hex(proto::identity_of(profile), 8)});
        document.push_back({"version", LINKDRILL_VERSION});
        found.value().document = std::move(document);
    }
    return found;
}

Result<Finished, Failure> of_crc(Work& work, const Arguments& arguments, Columns columns) {
    if (work.options.scan_bytes) return usage("--scan-bytes", "goes with the file of a profile; name one");
    const std::optional<std::string> name = arguments.value("--crc");
    if (name && (arguments.has("--width") || arguments.has("--polynomial")))
        return usage("--crc", "does not go with --width and --polynomial; write one or the other");
    std::string typed = name.value_or("");
    if (!name) {
        for (const char* needed : {"--width", "--polynomial"})
            if (!arguments.has(needed))
                return usage(needed, "missing; write a profile's file, --crc NAME, or --width W --polynomial 0x..");
        // each says in its own words what is wrong with it
        if (const auto width = arguments.number("--width", 8, 64); !width) return width.error();
        if (const auto polynomial = arguments.hex_number("--polynomial"); !polynomial) return polynomial.error();
        typed = *arguments.value("--width") + ":" + *arguments.value("--polynomial");
    }
    auto subject = crc_of(name ? "--crc" : "--polynomial", typed);
    if (!subject) return subject.error();
    if (!work.options.data_bits)
        return usage("--data-bits", "missing; write how many bits the CRC protects, without its own");
    subject.value().data_bits = *work.options.data_bits;
    if (const auto trouble = length_trouble("--data-bits", subject.value())) return *trouble;
    return one(work, subject.value(), columns);
}

/// Options that do not go together.
std::optional<Failure> clash_in(const Arguments& arguments) {
    const bool file = arguments.value("PROFILE").has_value(), list = arguments.value("--compare").has_value();
    for (const char* other : {"--crc", "--width", "--polynomial", "--compare"})
        if (file && arguments.has(other))
            return usage(other, "does not go with the file of a profile, which says its CRC; write one of them");
    for (const char* other : {"--crc", "--width", "--polynomial", "--scan-bytes"})
        if (list && arguments.has(other)) return usage(other, "does not go with --compare; write one of them");
    if (file && arguments.has("--scan-bytes") && arguments.has("--data-bits"))
        return usage("--data-bits", "does not go with --scan-bytes, which goes over all lengths; write one of them");
    return std::nullopt;
}

Result<Finished, Failure> run(const Request& request) {
    const Arguments& arguments = request.arguments;
    auto options = read_options(arguments);
    if (!options) return options.error();
    Work work{std::move(options.value()),
              WeightsCache(arguments.has("--no-cache") ? std::string() : WeightsCache::usual_folder()), request.jobs,
              arguments.has("--quiet") ? Progress::Shown::no : Progress::Shown::yes};
    const std::optional<std::string> file = arguments.value("PROFILE");
    const std::optional<std::string> list = arguments.value("--compare");
    if (auto clash = clash_in(arguments)) return *clash;
    std::optional<GivenFile> given;
    if (file) {
        auto read = GivenFile::of(*file);
        if (!read) return read.error();
        given = std::move(read).value();
    }
    const bool scenario = given && !given->is_profile();
    auto found = scenario ? of_scenario(work, *given, request)
                 : given  ? of_profile(work, *given, request.columns)
                 : list   ? compare(work, *list, request.columns)
                          : of_crc(work, arguments, request.columns);
    if (!found) return found;
    const bool cell = scenario && given->has_several_links() && !arguments.has("--link");
    const char* name = cell                            ? "cell_residual"
                       : scenario                      ? "link_residual"
                       : list                          ? "residual_compare"
                       : arguments.has("--scan-bytes") ? "residual_scan"
                                                       : "residual";
    if (auto failure = keep_if_asked(request.out, name, found.value().document, std::nullopt)) return *failure;
    return found;
}

}  // namespace

Command residual_command() {
    constexpr auto one = OptionSpec::Values::one;
    return {
        .name = "residual",
        .group = Command::Group::then,
        .does = "tell exactly how often wrong bits pass a telegram's CRC",
        .positional =
            {"PROFILE",
             "file of a telegram profile, or of a scenario for both receivers of its link; or --crc, or --width "
             "and --polynomial",
             PositionalSpec::Need::optional},
        .options = {link_option(),
                    {"--crc", "NAME", "of the public catalogue: linkdrill crc --list"},
                    {"--width", "W", "of a CRC without a name: bits, 8 to 64"},
                    {"--polynomial", "0x..", "without its leading term"},
                    {"--data-bits", "N", "bits that are sent and protected, without the CRC; a profile knows its own"},
                    {"--bit-error-rate", "P", "probability that a bit is wrong; without it 1e-2"},
                    {"--sil", "S", "claimed safety integrity level, 1 to 4; status 1 if it is not met"},
                    {"--method", "NAME", "older, newer or rate-limit decides alone; without it all that have a rate",
                     one, "older newer rate-limit"},
                    {"--telegrams-per-hour", "V", "that one receiver looks at: 360000 for one in 10 ms"},
                    {"--receivers", "M", "of one safety function; without it 1"},
                    {"--numbers-accepted", "W", "that fit at a time, or are tried if implied; without it 2"},
                    {"--address-bits", "N", "carried, for the newer method without a profile"},
                    {"--number-bits", "N", "carried, for the newer method without a profile"},
                    {"--wrong-addresses-per-hour", "R", "telegrams for others that arrive; without it 1e-3"},
                    {"--wrong-times-per-hour", "R", "old or early ones that arrive; without it 1e-3"},
                    {"--masquerades-per-hour", "R", "from sources that are not safe; without it 1e-3"},
                    {"--minutes-between-errors", "T",
                     "a second error within stops the link; without it 6, 6, 60 or 600"},
                    {"--scan-bytes", "N", "all payloads of 1 to N bytes, to find where the level is lost"},
                    {"--compare", "LIST", "CRCs side by side: CRC-32/ISCSI,CRC-32/MEF,32:0xF4ACFB13"},
                    {"--no-cache", "", "neither use nor keep what was computed before"}},
        .without = {"--seed"},
        .example = "linkdrill residual scenarios/profiles/crc32_carried.toml --sil 3 --telegrams-per-hour 360000",
        .notes =
            {"Of a scenario with several links the rates of all links that a safety function crosses are added up and "
             "held against the share of its level, without one that of the lowest SIL that they claim; --link names "
             "one link.",
             "Exact up to 32 bits of CRC; beyond, bounds. Computed weights are kept in ~/.cache/linkdrill."},
        .run = run,
    };
}

}  // namespace tools
