#include "tools/capture/capture_words.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::Fate;
using sim::FaultWay;
using sim::WhyUnheard;
using Kind = Conclusion::Kind;

constexpr std::string_view dropped_words = "dropped, it arrives nowhere";

std::string injection_words(const sim::Scenario& scenario, std::uint32_t injection) {
    if (injection == 0 || injection > scenario.faults.size()) return "";
    // of several links each counts its own
    const std::string of_link = scenario.cell_link.empty() ? "" : " of link " + on_one_line(scenario.cell_link);
    return "Injection " + std::to_string(injection) + of_link + " (" +
           words_of(scenario.faults[injection - 1], scenario) + "): ";
}

std::string_view on_its_way(FaultWay way) {
    switch (way) {
        case FaultWay::drop: return dropped_words;
        case FaultWay::instead: return "an earlier telegram goes on in its place";
        case FaultWay::hold:
        case FaultWay::step:
        case FaultWay::creeping: return "held back";
        case FaultWay::swap: return "goes to the neighbour link instead";
        default: return "altered on its way";
    }
}

std::string_view on_arrival(FaultWay way) {
    switch (way) {
        case FaultWay::beside: return "an earlier telegram again";
        case FaultWay::instead: return "an earlier telegram in place of the new one";
        case FaultWay::current_again: return "the same telegram again";
        case FaultWay::old_parameters: return "a parameter telegram of an earlier start";
        case FaultWay::hold: return "held back, later ones may have overtaken it";
        case FaultWay::step:
        case FaultWay::creeping: return "late";
        case FaultWay::neighbour:
        case FaultWay::swap: return "a telegram of the neighbour link";
        case FaultWay::stray: return "a telegram of an earlier start of this link";
        case FaultWay::no_crc:
        case FaultWay::other_crc:
        case FaultWay::all_zero: return "forged, no end has sent it";
        case FaultWay::loop_back: return "the sender's own telegram, looped back";
        default: return "altered on its way";
    }
}

constexpr std::array<std::pair<WhyUnheard, std::string_view>, 4> unheard_words{{
    {WhyUnheard::power_off, "the end was without power"},
    {WhyUnheard::queue_full, "too many came in one scan"},
    {WhyUnheard::forgotten, "the end lost its power before"},
    {WhyUnheard::missed, "not known why"},
}};

constexpr std::array<std::pair<Kind, std::string_view>, 5> plain_words{{
    {Kind::accepted_wrongly, "DANGEROUS, accepted although it is not the expected one"},
    {Kind::accepted, "accepted as new"},
    {Kind::repeat, "a repeat, nothing new"},
    {Kind::ignored, "ignored, waits for a parameter telegram"},
    {Kind::handshake, "parameter telegram understood"},
}};

constexpr std::string_view rejected_begin = "rejected (", unheard_begin = "not looked at (", also = "; also ";

std::string words_of(const proto::MeasureSet& failed) {
    std::string out(word_for(failed.first()));
    std::string others;
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const auto measure = static_cast<proto::Measure>(i);
        if (!failed.has(measure) || measure == failed.first()) continue;
        others += (others.empty() ? also : std::string_view(", "));
        others += word_for(measure);
    }
    return out + others;
}

/// Takes the words of one measure from the begin of `text`: the longest that fit, since some begin alike.
std::optional<proto::Measure> take_measure(std::string_view& text) {
    std::optional<proto::Measure> found;
    std::size_t length = 0;
    for (unsigned i = 0; i < proto::measure_count; ++i) {
        const std::string_view word = word_for(static_cast<proto::Measure>(i));
        if (!text.starts_with(word) || word.size() <= length) continue;
        found = static_cast<proto::Measure>(i);
        length = word.size();
    }
    text.remove_prefix(length);
    return found;
}

std::optional<proto::MeasureSet> measures_in(std::string_view text) {
    proto::MeasureSet failed;
    for (bool first = true; !text.empty(); first = false) {
        if (!first) {
            const std::string_view between = text.starts_with(also) ? also : std::string_view(", ");
            if (!text.starts_with(between)) return std::nullopt;
            text.remove_prefix(between.size());
        }
        const auto measure = take_measure(text);
        if (!measure) return std::nullopt;
        // of two in the same step feedback is told first
        if (first && *measure == proto::Measure::feedback && text.find("number") != std::string_view::npos)
            failed.add_wrong_answer();
        failed.add(*measure);
    }
    return failed.empty() ? std::nullopt : std::optional(failed);
}

}  // namespace

std::string befallen(const sim::Scenario& scenario, const sim::Tag& tag, Fate fate) {
    switch (fate) {
        case Fate::lost: return "Lost by the channel itself: " + std::string(dropped_words) + ".";
        case Fate::bent: return "Bits of it are bent by the channel's own bit errors.";
        case Fate::crowded_out: return "More on the way than the channel holds: " + std::string(dropped_words) + ".";
        case Fate::touched:
        case Fate::dropped: break;
    }
    const std::uint32_t injection = tag.injection;
    const bool known = injection != 0 && injection <= scenario.faults.size();
    return injection_words(scenario, injection) +
           std::string(known ? on_its_way(scenario.faults[injection - 1].way) : "touched on its way") + ".";
}

std::string done_to(const sim::Scenario& scenario, const sim::Tag& tag, sim::End to) {
    const std::uint32_t injection = tag.injection;
    if (injection != 0 && injection <= scenario.faults.size())
        return injection_words(scenario, injection) + std::string(on_arrival(scenario.faults[injection - 1].way)) +
               (tag.altered && sim::error_of(scenario.faults[injection - 1].way) != sim::ErrorKind::corruption
                    ? "; some of its bits are bent."
                    : ".");
    if (tag.altered) return "Bent by the channel's own bit errors.";
    if (tag.link != 0) return "A telegram of the neighbour link.";
    if (sim::receiver(tag.direction) != to) return "The end's own telegram comes back.";
    return "";
}

std::string changed(std::span<const std::uint8_t> was, std::span<const std::uint8_t> is) {
    constexpr std::size_t listed_most = 12;
    std::vector<std::size_t> bits;
    for (std::size_t i = 0; i < std::min(was.size(), is.size()) * 8; ++i)
        if (((was[i / 8] ^ is[i / 8]) >> (7 - i % 8) & 1) != 0) bits.push_back(i);
    std::string out;
    for (std::size_t i = 0; i < std::min(bits.size(), listed_most); ++i)
        out += (i == 0                 ? (bits.size() == 1 ? "Bit " : "Bits ")
                : i + 1 == bits.size() ? " and "
                                       : ", ") +
               std::to_string(bits[i]);
    if (bits.size() > listed_most) out += " and " + std::to_string(bits.size() - listed_most) + " more";
    if (!bits.empty()) out += bits.size() == 1 ? " is turned over." : " are turned over.";
    if (is.size() < was.size())
        out +=
            (out.empty() ? "" : " ") + counted(was.size() - is.size(), "byte is", "bytes are") + " missing at the end.";
    return out;
}

Conclusion conclusion_of(const proto::Verdict& verdict) {
    using Of = proto::Verdict::Kind;
    switch (verdict.kind) {
        case Of::fresh: return {Kind::accepted};
        case Of::repeat: return {Kind::repeat};
        case Of::ignored: return {Kind::ignored};
        case Of::handshake: return {Kind::handshake};
        case Of::rejected: break;
    }
    return {Kind::rejected, verdict.failed};
}

std::string sentence_of(std::string_view end, const Conclusion& conclusion) {
    std::string out = std::string(end) + ": ";
    if (conclusion.kind == Kind::rejected)
        return out + std::string(rejected_begin) + words_of(conclusion.failed) + ").";
    if (conclusion.kind == Kind::unheard) {
        for (const auto& [why, words] : unheard_words)
            if (why == conclusion.why) out += std::string(unheard_begin) + std::string(words);
        return out + ").";
    }
    for (const auto& [kind, words] : plain_words)
        if (kind == conclusion.kind) out += words;
    return out + ".";
}

std::optional<Conclusion> conclusion_in(std::string_view comment, std::string_view end) {
    const std::string begin = std::string(end) + ": ";
    const std::size_t at = comment.rfind(begin);
    if (at == std::string_view::npos) return std::nullopt;
    std::string_view text = comment.substr(at + begin.size());
    for (const auto& [kind, words] : plain_words)
        if (text.starts_with(words)) return Conclusion{kind};
    if (text.starts_with(rejected_begin)) {
        text.remove_prefix(rejected_begin.size());
        const auto failed = measures_in(text.substr(0, text.find(')')));
        if (failed) return Conclusion{Kind::rejected, *failed};
    }
    if (text.starts_with(unheard_begin))
        for (const auto& [why, words] : unheard_words)
            if (text.substr(unheard_begin.size()).starts_with(words)) return Conclusion{Kind::unheard, {}, why};
    return std::nullopt;
}

bool says_dropped(std::string_view comment) { return comment.find(dropped_words) != std::string_view::npos; }

}  // namespace tools
