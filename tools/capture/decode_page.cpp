#include "tools/capture/decode_page.hpp"

#include <algorithm>
#include <utility>

#include "sim/scenario/ends.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::ExplainedField;
using sim::Hop;
using Verdict = ListedTelegram::Verdict;

std::string_view name_of(Verdict verdict) {
    switch (verdict) {
        case Verdict::sent: return "sent";
        case Verdict::dropped: return "dropped";
        case Verdict::accepted: return "accepted";
        case Verdict::dangerous: return "dangerous";
        case Verdict::repeat: return "repeat";
        case Verdict::ignored: return "ignored";
        case Verdict::handshake: return "handshake";
        case Verdict::rejected: return "rejected";
        case Verdict::unheard: return "not-looked-at";
        case Verdict::unchecked: return "unchecked";
    }
    return "?";
}

std::string_view name_of(Hop hop) {
    switch (hop) {
        case Hop::controller_to_channel: return "controller-to-channel";
        case Hop::channel_to_device: return "channel-to-device";
        case Hop::device_to_channel: return "device-to-channel";
        case Hop::channel_to_controller: return "channel-to-controller";
    }
    return "?";
}

std::string_view short_hop_of(const ListedTelegram& telegram) {
    if (!telegram.hop_known) return sim::direction_of(telegram.hop) == sim::Direction::to_device ? "C>D" : "D>C";
    switch (telegram.hop) {
        case Hop::controller_to_channel: return "C>channel";
        case Hop::channel_to_device: return "channel>D";
        case Hop::device_to_channel: return "D>channel";
        case Hop::channel_to_controller: return "channel>C";
    }
    return "?";
}

std::string_view name_of_direction(Hop hop) { return name_of_way(sim::direction_of(hop)); }

std::string_view name_of(proto::ParameterTelegram::Step step) {
    using Step = proto::ParameterTelegram::Step;
    switch (step) {
        case Step::offer: return "offer";
        case Step::answer: return "answer";
        case Step::confirm: return "confirm";
        case Step::ready: return "ready";
    }
    return "?";
}

/// What the telegram is, without a judgement.
std::string what(const ListedTelegram& telegram) {
    const sim::TelegramSeen& seen = telegram.seen;
    switch (seen.kind) {
        case sim::TelegramSeen::Kind::parameter: {
            const auto refusal = seen.parameters->refusal;
            return std::string(name_of(seen.parameters->step)) + (refusal == proto::Refusal::none ? "" : ", refused");
        }
        case sim::TelegramSeen::Kind::strange: return counted(telegram.bytes.size(), "byte", "bytes");
        case sim::TelegramSeen::Kind::process: break;
    }
    return seen.verdict.sender_safe ? "safe values" : "values";
}

std::string verdict_words(const ListedTelegram& telegram) {
    if (telegram.verdict == Verdict::dangerous) return "DANGEROUS";
    if (telegram.verdict == Verdict::unheard) return "not looked at";
    if (telegram.verdict != Verdict::rejected || telegram.failed.empty()) return std::string(name_of(telegram.verdict));
    std::string out = "rejected: " + std::string(word_for(telegram.failed.first()));
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<proto::Measure>(i);
        if (telegram.failed.has(measure) && measure != telegram.failed.first())
            out += ", " + std::string(word_for(measure));
    }
    return out;
}

constexpr std::size_t number_width = 8, time_width = 14, hop_width = 11, sequence_width = 11, what_width = 13;

/// 2.000293713 s as "2.000 293 7".
std::string clock(sim::Duration time) {
    const bool negative = time.ns < 0;
    const auto size = negative ? 0U - static_cast<std::uint64_t>(time.ns) : static_cast<std::uint64_t>(time.ns);
    const std::string micro = std::to_string(1'000'000 + size / 1000 % 1'000'000).substr(1);
    return (negative ? "-" : "") + std::to_string(size / 1'000'000'000) + "." + micro + " s";
}

/// Of several links a column more: its width with what separates it; 0 for one.
std::size_t link_width(const CaptureDecoder& decoder) {
    if (decoder.settings().link.empty()) return 0;
    std::size_t width = std::string_view("link").size();
    for (std::size_t i = 0; i < decoder.links(); ++i) width = std::max(width, plain(decoder.settings(i).link).size());
    return width + 2;
}

std::string line_of(const ListedTelegram& telegram, const CaptureDecoder& decoder) {
    return right_aligned(std::to_string(telegram.packet), number_width) +
           right_aligned(clock(telegram.time), time_width) + "  " +
           left_aligned(plain(decoder.settings(telegram.link).link), link_width(decoder)) +
           left_aligned(std::string(short_hop_of(telegram)), hop_width) +
           right_aligned(telegram.seen.number ? std::to_string(*telegram.seen.number) : "-", sequence_width) + "  " +
           left_aligned(what(telegram), what_width) + verdict_words(telegram);
}

bool several(const CaptureDecoder& decoder) { return !decoder.settings().link.empty(); }

void links_on(Page& page, const CaptureDecoder& decoder, const DecodeCounts& counts) {
    for (std::size_t i = 0; i < decoder.links(); ++i) {
        const sim::CaptureSettings& settings = decoder.settings(i);
        const DecodeCounts::OfLink link = i < counts.links.size() ? counts.links[i] : DecodeCounts::OfLink{};
        const std::string lead = "Link " + left_aligned(plain(settings.link), link_width(decoder));
        page.paragraph_at(lead.size(), lead,
                          "C " + plain(settings.controller.name) + ", D " + plain(settings.device.name) + ": " +
                              counted(link.telegrams, "telegram", "telegrams") + ", " + grouped(link.rejected) +
                              " rejected, " + grouped(link.dropped) + " dropped");
    }
}

}  // namespace

void DecodeCounts::count(const ListedTelegram& telegram) {
    ++telegrams;
    rejected += telegram.verdict == Verdict::rejected ? 1U : 0U;
    dropped += telegram.verdict == Verdict::dropped ? 1U : 0U;
    dangerous += telegram.verdict == Verdict::dangerous ? 1U : 0U;
    unchecked += telegram.verdict == Verdict::unchecked ? 1U : 0U;
    commented += telegram.comment.empty() ? 0U : 1U;
    if (links.size() <= telegram.link) links.resize(telegram.link + 1);
    OfLink& link = links[telegram.link];
    ++link.telegrams;
    link.accepted += telegram.verdict == Verdict::accepted ? 1U : 0U;
    link.rejected += telegram.verdict == Verdict::rejected ? 1U : 0U;
    link.dropped += telegram.verdict == Verdict::dropped ? 1U : 0U;
    link.dangerous += telegram.verdict == Verdict::dangerous ? 1U : 0U;
}

Page page_of(const CaptureDecoder& decoder, const DecodeCounts& counts, const std::string& path, Columns columns) {
    Page page(columns);
    const sim::CaptureSettings& settings = decoder.settings();
    std::string text = (decoder.ours() ? plain(settings.title) : plain(path)) + ": " +
                       counted(counts.telegrams, "telegram", "telegrams");
    if (several(decoder))
        text += " of " + counted(decoder.links(), "link", "links");
    else if (decoder.ours())
        text += " on four hops";
    text += ", " + grouped(counts.rejected) + " rejected, " + grouped(counts.dropped) + " dropped";
    if (counts.dangerous != 0) text += ", " + grouped(counts.dangerous) + " accepted wrongly";
    if (counts.unchecked != 0) text += ", " + grouped(counts.unchecked) + " not checked";
    if (decoder.damage())
        page.headline("DAMAGED", Hue::caution, text + ".");
    else if (counts.telegrams == 0)
        page.headline("NO TELEGRAM", Hue::caution,
                      plain(path) + ": none of " + counted(counts.packets, "packet", "packets") +
                          " is a telegram of this profile: they have " +
                          std::to_string(decoder.view(Hop::channel_to_device).layout().total_bytes) +
                          (decoder.view(Hop::channel_to_device).layout().total_bytes !=
                                   decoder.view(Hop::channel_to_controller).layout().total_bytes
                               ? " or " + std::to_string(decoder.view(Hop::channel_to_controller).layout().total_bytes)
                               : "") +
                          " bytes in a UDP datagram, or 80 in the handshake.");
    else
        page.headline("TELEGRAMS", counts.dangerous != 0 ? Hue::danger : Hue::none, text + ".");
    if (decoder.damage()) page.paragraph_at(11, "           ", plain(decoder.damage()->message) + ".");
    if (counts.others != 0 && counts.telegrams != 0)
        page.paragraph_at(11, "           ",
                          counted(counts.others, "other packet is", "other packets are") + " not listed.");
    for (const std::string& remark : decoder.remarks()) page.paragraph_at(11, "           ", remark);
    page.blank();
    if (decoder.ours()) {
        if (several(decoder))
            links_on(page, decoder, counts);
        else
            page.paragraph("Ends       ",
                           "C " + plain(settings.controller.name) + ", D " + plain(settings.device.name));
        page.paragraph("Run        ", plain(settings.scenario_file) + " --seed " + std::to_string(settings.seed) +
                                          (settings.live ? " --live" : "") + "   linkdrill " + plain(settings.version) +
                                          "   trace fingerprint " + fingerprint(settings.digest));
    } else {
        page.paragraph("Verdicts   ",
                       "what a receiver would make of the bytes and of their order in the capture, times left out");
    }
    page.blank();
    return page;
}

std::string row_heading(const CaptureDecoder& decoder, Columns columns) {
    Page page(columns);
    page.line(right_aligned("No", number_width) + right_aligned("time", time_width) + "  " +
              left_aligned(several(decoder) ? "link" : "", link_width(decoder)) + left_aligned("hop", hop_width) +
              right_aligned("number", sequence_width) + "  " + left_aligned("what", what_width) + "verdict");
    return page.text(Colour::off);
}

std::string row_of(const ListedTelegram& telegram, const CaptureDecoder& decoder, Columns columns) {
    const std::string line = line_of(telegram, decoder);
    if (telegram.comment.empty() && line.size() <= columns.count) return line + "\n";
    Page page(columns);
    page.line(line);
    if (!telegram.comment.empty())
        page.paragraph_at(number_width + 2, std::string(number_width + 2, ' '), telegram.comment);
    return page.text(Colour::off);
}

Value describe(const ListedTelegram& telegram, const CaptureDecoder& decoder) {
    Value::List also;
    if (!telegram.failed.empty())
        for (unsigned i = 0; i < proto::measure_count; ++i) {
            const auto measure = static_cast<proto::Measure>(i);
            if (telegram.failed.has(measure) && measure != telegram.failed.first())
                also.emplace_back(proto::name_of(measure));
        }
    Value::Object out{{"packet", telegram.packet}, {"time_ms", telegram.time}};
    if (several(decoder)) out.push_back({"link", decoder.settings(telegram.link).link});
    Value::Object more{
        {"hop", telegram.hop_known ? Value(name_of(telegram.hop)) : Value()},
        {"direction", name_of_direction(telegram.hop)},
        {"what", what(telegram)},
        {"sequence", telegram.seen.number ? Value(*telegram.seen.number) : Value()},
        {"verdict", name_of(telegram.verdict)},
        {"detected_by", telegram.failed.empty() ? Value() : Value(proto::name_of(telegram.failed.first()))},
        {"also_by", std::move(also)},
        {"bytes", sim::in_hex(telegram.bytes)},
        {"comment", Value::text_or_null(telegram.comment)},
    };
    for (Value::Member& member : more) out.push_back(std::move(member));
    return out;
}

Value describe_links(const DecodeCounts& counts, const CaptureDecoder& decoder) {
    Value::List links;
    for (std::size_t i = 0; i < decoder.links(); ++i) {
        const sim::CaptureSettings& settings = decoder.settings(i);
        const DecodeCounts::OfLink link = i < counts.links.size() ? counts.links[i] : DecodeCounts::OfLink{};
        links.push_back(Value::Object{{"name", settings.link},
                                      {"controller", settings.controller.name},
                                      {"device", settings.device.name},
                                      {"profile", decoder.view(Hop::channel_to_device, i).profile().name},
                                      {"telegrams", link.telegrams},
                                      {"accepted", link.accepted},
                                      {"rejected", link.rejected},
                                      {"dropped", link.dropped},
                                      {"dangerous", link.dangerous}});
    }
    return links;
}

namespace {

std::string_view word_for(ExplainedField::Covered covered) {
    switch (covered) {
        case ExplainedField::Covered::no: return "no";
        case ExplainedField::Covered::yes:
        case ExplainedField::Covered::implied: return "covered";
        case ExplainedField::Covered::value: return "value";
    }
    return "?";
}

/// "3-4" or "7": bytes from 0.
std::string bytes_at(const ExplainedField& field) {
    if (!field.first_bit) return "implied";
    const unsigned first = *field.first_bit / 8, last = (*field.first_bit + std::max(field.bits, 1U) - 1) / 8;
    return std::to_string(first) + (last == first ? "" : "-" + std::to_string(last));
}

/// Where a field does not fill its bytes: which bits of the telegram it has, from the highest of byte 0 on.
std::string bits_at(const ExplainedField& field) {
    if (!field.first_bit || (*field.first_bit % 8 == 0 && field.bits % 8 == 0)) return "";
    return "bits " + std::to_string(*field.first_bit) + "-" + std::to_string(*field.first_bit + field.bits - 1);
}

void field_lines(Page& page, const ExplainedField& field, std::size_t name_width) {
    const bool differs = field.differs();
    const std::string lead = left_aligned(bytes_at(field), 9) + left_aligned(field.name, name_width) +
                             left_aligned(std::string(word_for(field.covered)), 9);
    std::string text = field.bytes;
    const std::string bits = bits_at(field);
    if (!bits.empty()) text += "  (" + bits + ")";
    if (!field.meaning.empty()) text += (text.empty() ? "" : "  ") + plain(field.meaning);
    page.paragraph(lead, text);
    if (field.expected.empty() && field.found.empty()) return;
    const std::string indent(lead.size(), ' ');
    if (!differs) {
        page.paragraph(indent, "as expected: " + field.expected);
        return;
    }
    for (const auto& [word, value] : {std::pair("EXPECTED ", &field.expected), std::pair("FOUND    ", &field.found)}) {
        const std::string line = indent + word + *value;
        if (line.size() <= page.columns().count)
            page.marked(line, indent.size(), line.size() - indent.size(), Hue::danger);
        else
            page.paragraph(indent, word + *value);
    }
}

}  // namespace

Page page_of(const ListedTelegram& telegram, const CaptureDecoder& decoder, const std::vector<ExplainedField>& fields,
             Columns columns) {
    Page page(columns);
    page.headline("TELEGRAM", Hue::none,
                  "No " + grouped(telegram.packet) + ", " + clock(telegram.time) + ", " +
                      std::string(short_hop_of(telegram)) + ": " + what(telegram) + ", " +
                      counted(telegram.bytes.size(), "byte", "bytes") + ", " + verdict_words(telegram) + ".");
    if (!telegram.comment.empty()) page.paragraph_at(10, "          ", telegram.comment);
    const sim::TelegramView& view = decoder.view(telegram.hop, telegram.link);
    const std::string of_link = several(decoder) ? " of link " + plain(decoder.settings(telegram.link).link) : "";
    page.paragraph_at(10, "          ",
                      "Read by the profile " + plain(view.profile().name) +
                          (decoder.ours() ? ", as set at " + plain(view.end().name) + of_link : std::string()) + ".");
    page.blank();
    std::size_t name_width = 13;
    for (const ExplainedField& field : fields) name_width = std::max(name_width, field.name.size() + 2);
    page.line(left_aligned("byte", 9) + left_aligned("field", name_width) + left_aligned("CRC", 9) + "bytes, meaning");
    for (const ExplainedField& field : fields) field_lines(page, field, name_width);
    page.blank();
    page.paragraph(
        "", "CRC: covered by it, no, or a check value itself. Implied: not in the bytes, fed to the CRC before them.");
    return page;
}

Value describe(const std::vector<ExplainedField>& fields) {
    Value::List list;
    for (const ExplainedField& field : fields) {
        const bool value = field.covered == ExplainedField::Covered::value;
        list.push_back(Value::Object{
            {"field", field.name},
            {"first_byte", field.first_bit ? Value(*field.first_bit / 8) : Value()},
            {"first_bit", field.first_bit ? Value(*field.first_bit) : Value()},
            {"bits", field.bits},
            {"bytes", Value::text_or_null(field.bytes)},
            {"meaning", field.meaning},
            {"covered_by_crc", field.covered != ExplainedField::Covered::no && !value},
            {"implied", field.covered == ExplainedField::Covered::implied},
            {"expected", Value::text_or_null(field.expected)},
            {"found", Value::text_or_null(field.found)},
        });
    }
    return list;
}

}  // namespace tools
