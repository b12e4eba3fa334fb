// linkdrill decode CAPTURE: lists the telegrams of a capture, explains one byte by byte. The capture is read twice:
// once to count and to find what is wrong with it, once to print, so that its length costs no memory.
#include <limits>
#include <memory>

#include "sim/capture/explain_values.hpp"
#include "sim/scenario/units.hpp"
#include "tools/capture/decode_page.hpp"
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using Decoder = std::shared_ptr<CaptureDecoder>;

struct Explained {
    ListedTelegram telegram;
    std::vector<sim::ExplainedField> fields;
};

/// One JSON document, written piece by piece.
void put_json(const Decoder& decoder, const Value& head, const std::optional<Value>& fields, const Out& out) {
    std::string begin = to_json(head);
    begin.resize(begin.rfind('\n', begin.size() - 2));  // without its closing bracket
    if (!out(begin + ",\n  \"telegrams\": [")) return;
    if (decoder->rewind()) {
        bool first = true;
        while (const auto telegram = decoder->next()) {
            std::string row = to_json(describe(*telegram, *decoder));
            row.pop_back();
            if (!out((first ? "\n" : ",\n") + row)) return;
            first = false;
        }
    }
    std::string end = "\n  ]";
    if (fields) {
        end += ",\n  \"fields\": " + to_json(*fields);
        end.pop_back();
    }
    out(end + "\n}\n");
}

Value head_of(const CaptureDecoder& decoder, const DecodeCounts& counts, const std::string& path) {
    const sim::CaptureSettings& settings = decoder.settings();
    const bool ours = decoder.ours();
    Value::Object head{
        {"capture", path},
        {"written_by", ours ? Value("linkdrill " + settings.version) : Value()},
        {"title", ours ? Value(settings.title) : Value()},
        {"scenario", ours ? Value(settings.scenario_file) : Value()},
        {"seed", ours ? Value(settings.seed) : Value()},
        {"mode", ours ? Value(settings.live ? "live" : "virtual") : Value()},
        {"digest", ours ? Value(sim::written_hex(settings.digest, 16)) : Value()},
        {"profile", decoder.view(sim::Hop::channel_to_device).profile().name},
        {"packets", counts.packets},
        {"others", counts.others},
        {"rejected", counts.rejected},
        {"dropped", counts.dropped},
        {"dangerous", counts.dangerous},
        {"whole", !decoder.damage()},
        {"damage", decoder.damage() ? Value(decoder.damage()->message) : Value()},
        {"remarks", Value::list_of(decoder.remarks())},
    };
    if (!settings.link.empty()) head.push_back({"links", describe_links(counts, decoder)});
    return head;
}

/// What the first way through the capture finds.
struct Surveyed {
    DecodeCounts counts;
    std::optional<Explained> explained;  ///< the packet that is asked for, if it is a telegram
};

/// `values`: of whom the values are that the telegram holds, by link.
Surveyed survey(CaptureDecoder& decoder, const std::optional<std::uint64_t>& wanted,
                const std::vector<sim::CaptureSettings>& values) {
    Surveyed out;
    while (auto telegram = decoder.next()) {
        out.counts.count(*telegram);
        if (!wanted || telegram->packet != *wanted) continue;
        out.explained.emplace();
        const sim::TelegramView& view = decoder.view(telegram->hop, telegram->link);
        out.explained->fields = sim::explain(view, telegram->seen, telegram->bytes);
        sim::explain_values(values[telegram->link], view, telegram->bytes, out.explained->fields);
        out.explained->telegram = std::move(*telegram);
    }
    out.counts.packets = decoder.packets();
    out.counts.others = decoder.others();
    return out;
}

Failure nothing_to_explain(std::uint64_t wanted, std::uint64_t packets) {
    return usage("--explain", wanted > packets ? "the capture has " + counted(packets, "packet", "packets") +
                                                     "; write a number of the list"
                                               : "packet " + std::to_string(wanted) +
                                                     " is no telegram that is listed; write a number of the list");
}

/// By link: what the capture says of its values, or what that scenario does.
proto::Result<std::vector<sim::CaptureSettings>, Failure> values_for(const CaptureDecoder& decoder,
                                                                     const std::optional<std::string>& file) {
    std::vector<sim::CaptureSettings> values;
    for (std::size_t i = 0; i < decoder.links(); ++i) values.push_back(decoder.settings(i));
    if (!file) return values;
    const auto given = GivenFile::of(*file);
    if (!given) return given.error();
    if (values.front().link.empty()) {
        const auto scenario = given.value().scenario();
        if (!scenario) return scenario.error();
        return std::vector{sim::settings_of(scenario.value())};
    }
    if (!given.value().has_several_links())
        return usage("--scenario", in_quotes(*file) +
                                       " has one link, and the capture is of several; name the file of "
                                       "their cell");
    const auto cell = given.value().cell();
    if (!cell) return cell.error();
    for (sim::CaptureSettings& link : values) {
        const std::size_t place = cell.value().link_called(link.link);
        if (place == cell.value().links.size())
            return usage("--scenario", in_quotes(*file) + " has no link " + in_quotes(link.link) +
                                           ", of which the capture is; name the file of its cell");
        link = sim::settings_of(cell.value().links[place].alone);
    }
    return values;
}

/// The second way: a row for each telegram.
void put_rows(CaptureDecoder& decoder, Columns columns, const Out& out) {
    if (!out(row_heading(decoder, columns))) return;
    if (!decoder.rewind()) {
        out("The file has changed while it was read: the rows are missing.\n");
        return;
    }
    while (const auto telegram = decoder.next())
        if (!out(row_of(*telegram, decoder, columns))) return;
}

proto::Result<Finished, Failure> run(const Request& request) {
    const std::string path = request.arguments.value("CAPTURE").value_or("");
    const auto wanted = request.arguments.number("--explain", 1, std::numeric_limits<std::uint64_t>::max());
    if (!wanted) return wanted.error();
    auto opened = CaptureDecoder::open(path, request.arguments.value("--profile"));
    if (!opened) return opened.error();
    const auto decoder = std::make_shared<CaptureDecoder>(std::move(opened).value());

    const auto values = values_for(*decoder, request.arguments.value("--scenario"));
    if (!values) return values.error();
    const auto [counts, explained] = survey(*decoder, wanted.value(), values.value());
    if (decoder->damage() && counts.packets == 0) {
        const sim::FileError& damage = *decoder->damage();
        return Failure{Status::bad_input, damage.file, 0, {}, damage.message};
    }
    if (wanted.value() && !explained) return nothing_to_explain(*wanted.value(), counts.packets);

    const bool as_it_should_be = !decoder->damage() && counts.telegrams != 0;
    Finished finished;
    finished.status = as_it_should_be ? Status::done : Status::not_met;
    std::optional<Value> fields;
    if (explained) {
        fields = describe(explained->fields);
        finished.page = page_of(explained->telegram, *decoder, explained->fields, request.columns);
    } else {
        finished.page = page_of(*decoder, counts, path, request.columns);
        if (counts.telegrams != 0)
            finished.rows = [decoder, columns = request.columns](const Out& out) { put_rows(*decoder, columns, out); };
    }
    finished.whole_json = [decoder, head = head_of(*decoder, counts, path), fields](const Out& out) {
        put_json(decoder, head, fields, out);
    };
    return finished;
}

}  // namespace

Command decode_command() {
    return {
        .name = "decode",
        .group = Command::Group::tools,
        .does = "list the telegrams of a capture, explain one byte by byte",
        .positional = {"CAPTURE", "pcap or pcapng file", PositionalSpec::Need::required},
        .options = {{"--profile", "FILE", "telegram profile, for a capture that linkdrill did not write"},
                    {"--scenario", "FILE", "with --explain: the values in the payload, as this scenario has them"},
                    {"--explain", "N", "the packet of that number: field, bytes, meaning, what the CRC covers"}},
        .without = {"--seed", "--out", "--jobs"},
        .first = "linkdrill run scenarios/veneer_press/all_errors.toml --out evidence",
        .example = "linkdrill decode evidence/capture.pcapng --explain 802",
        .notes =
            {"Captures of linkdrill's own runs need no profile, and their verdicts are what the ends concluded. In "
             "another's capture a verdict is what a receiver would make of the bytes and their order; stamps and "
             "watchdogs are left out.",
             "What a telegram does not carry but its CRC covers is taken from the handshake in the capture; "
             "numbers are then tried as a receiver may try them, no others. Without a handshake it is said that "
             "nothing can be checked.",
             "Status 1: the capture is cut short or damaged, or holds no telegram of the profile."},
        .run = run,
    };
}

}  // namespace tools
