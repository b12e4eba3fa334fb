#include "tools/residual/link_residual.hpp"

#include <algorithm>
#include <utility>

#include "sim/scenario/scenario.hpp"
#include "tools/residual/residual_document.hpp"
#include "tools/residual/residual_words.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// A telegram a cycle each way when polled, else each end in its own scan.
double telegrams_per_hour(const sim::Scenario& scenario, sim::Direction way) {
    const proto::LinkSettings& controller = scenario.controller.link;
    const bool own_scan = controller.exchange == proto::Exchange::streaming && sender(way) == sim::End::device;
    const proto::Duration period = own_scan ? scenario.device.link.scan : controller.cycle;
    return static_cast<double>(proto::seconds(3600).ns) / static_cast<double>(period.ns);
}

/// The same method over all receivers: rates add up, and a bound that decides nothing alone decides nothing in a sum.
sim::MethodResult added_up(const std::vector<WayResidual>& ways, std::size_t method) {
    sim::MethodResult sum = ways.front().study.methods[method];
    sum.why.clear();
    double rate = 0;
    bool all = true, bounds = false;
    for (const WayResidual& way : ways) {
        const sim::MethodResult& one = way.study.methods[method];
        all = all && one.rate_per_hour.has_value();
        bounds = bounds || !way.study.exact;
        rate += one.rate_per_hour.value_or(0);
        sum.why += (sum.why.empty() ? "" : " + ") + (one.rate_per_hour ? scientific(*one.rate_per_hour) : "no rate") +
                   " at " + way.receiver;
    }
    sum.rate_per_hour = all ? std::optional(rate) : std::nullopt;
    sum.met.reset();
    if (!all) {
        sum.why = ways.front().study.methods[method].why;
    } else if (rate < *sum.share_per_hour) {
        sum.met = true;
    } else if (!bounds) {
        sum.met = false;
    } else {
        sum.why += "; upper bounds, which decide nothing here";
    }
    return sum;
}

std::string word_for(const std::optional<bool>& met) { return !met ? "not judged" : *met ? "kept" : "NOT KEPT"; }

}  // namespace

std::optional<std::size_t> function_with_highest_level(const sim::Scenario& scenario) {
    std::optional<std::size_t> highest;
    const auto sil_of = [&](std::size_t i) {
        return scenario.functions[i].level ? scenario.functions[i].level->sil() : 0U;
    };
    for (std::size_t i = 0; i < scenario.functions.size(); ++i)
        if (sil_of(i) > 0 && (!highest || sil_of(i) > sil_of(*highest))) highest = i;
    return highest;
}

void take_fields(const proto::Profile& profile, sim::MethodInput& methods) {
    const auto strength = [](const proto::Field& field) {
        using Kind = sim::FieldStrength::Kind;
        switch (field.presence) {
            case proto::Presence::absent: return sim::FieldStrength{Kind::absent, 0};
            case proto::Presence::carried: return sim::FieldStrength{Kind::carried, field.bits};
            case proto::Presence::implied: return sim::FieldStrength{Kind::implied, field.bits};
        }
        return sim::FieldStrength{};
    };
    if (!methods.address) methods.address = strength(profile.address);
    if (!methods.number) methods.number = strength(profile.sequence);
}

LinkResidual residual_of_link(const sim::Scenario& scenario, ResidualQuestion question, WeightsCache& cache,
                              const sim::Effort& effort) {
    LinkResidual found;
    found.sil = std::min(scenario.controller.link.claimed_level, scenario.device.link.claimed_level);
    found.level = "SIL " + std::to_string(found.sil);
    if (const auto function = function_with_highest_level(scenario)) {
        found.function = scenario.functions[*function].name;
        found.level = written(*scenario.functions[*function].level);
        found.sil = scenario.functions[*function].level->sil();
    }
    question.methods.level = found.sil;
    for (const sim::Direction way : {sim::Direction::to_device, sim::Direction::to_controller}) {
        const proto::LinkSettings &from = scenario.end(sender(way)).link, &to = scenario.end(receiver(way)).link;
        ResidualQuestion asked = question;
        asked.methods.telegrams_per_hour = telegrams_per_hour(scenario, way);
        asked.methods.numbers_accepted = std::max(asked.methods.numbers_accepted, to.missing_allowed + 1);
        if (to.reaction == proto::Reaction::discard && !asked.methods.minutes_between_errors)
            asked.methods.minutes_between_errors =
                static_cast<double>(to.error_interval.ns) / static_cast<double>(proto::seconds(60).ns);
        take_fields(from.profile, asked.methods);
        const ResidualSubject subject = subject_of(from.profile, from.payload_sent, asked.methods.numbers_accepted);
        found.ways.push_back({way, scenario.end(receiver(way)).name, *asked.methods.telegrams_per_hour,
                              study_residual(subject, asked, cache, effort)});
    }
    for (std::size_t i = 0; i < found.ways.front().study.methods.size(); ++i)
        found.methods.push_back(added_up(found.ways, i));
    return found;
}

std::string methods_in_words(const LinkResidual& found, bool kept) {
    std::string names;
    for (const sim::MethodResult& method : found.methods)
        if (method.met && *method.met == kept) names += (names.empty() ? "" : " and ") + ("the " + method.name);
    return names.empty() ? names : names + (names.find(" and ") == std::string::npos ? " method" : " methods");
}

Value describe(const LinkResidual& found) {
    Value::List ways;
    for (const WayResidual& way : found.ways)
        ways.push_back(Value::Object{{"to", way.way == sim::Direction::to_device ? "device" : "controller"},
                                     {"receiver", way.receiver},
                                     {"profile", way.study.subject.name},
                                     {"data_bits", way.study.subject.data_bits},
                                     {"telegrams_per_hour", way.telegrams_per_hour},
                                     {"methods", methods_of(way.study.methods)}});
    return Value::Object{{"function", Value::text_or_null(found.function)},
                         {"level", found.level},
                         {"sil", found.sil},
                         {"bit_error_rate", found.ways.front().study.at_rate.rate},
                         {"share_per_hour", sim::share_of_level(found.sil)},
                         {"share_source", share_source},
                         {"links", Value::List{Value::Object{{"name", Value()}, {"receivers", std::move(ways)}}}},
                         {"sum", methods_of(found.methods)},
                         {"left_out", left_out_of_residual}};
}

void residual_lines(Page& page, const LinkResidual& found) {
    const std::string asks = found.function.empty() ? "The link claims " + found.level
                                                    : "\"" + plain(found.function) + "\" asks for " + found.level +
                                                          ", the highest level over this link";
    page.paragraph("    ", asks + ". Per link, and for the sum over all links (here one), " +
                               scientific(sim::share_of_level(found.sil)) + " an hour: " + share_source + ".");
    constexpr std::size_t name_width = 12;
    for (const sim::MethodResult& method : found.methods) {
        const std::string rate = method.rate_per_hour ? scientific(*method.rate_per_hour) + " an hour, " : "";
        page.paragraph("    " + left_aligned(method.name, name_width), rate + word_for(method.met) + ": " +
                                                                           plain(method.why) + " (" + method.source +
                                                                           ", " + method.confidence + ").");
    }
    page.paragraph("    ", std::string("These are ") + left_out_of_residual + ".");
}

Page page_of(const std::string& title, const LinkResidual& found, LevelVerdict verdict, Columns columns) {
    Page page(columns);
    const bool met = verdict == LevelVerdict::met;
    std::string text = plain(title) + ": " + found.level + (met ? " is met" : " is not met");
    const std::string kept = methods_in_words(found, true), lost = methods_in_words(found, false);
    if (!lost.empty()) text += ", not kept by " + lost;
    if (!kept.empty()) text += ", kept by " + kept;
    page.headline(met ? "PASS" : "FAIL", met ? Hue::good : Hue::danger, text + ".");
    page.blank();
    for (const WayResidual& way : found.ways)
        page.paragraph(left_aligned("Receiver", 11),
                       plain(way.receiver) + ": " + plain(way.study.subject.name) + ", " +
                           counted(way.study.subject.data_bits, "data bit", "data bits") + ", " +
                           grouped(static_cast<std::uint64_t>(way.telegrams_per_hour)) + " telegrams an hour; R = " +
                           (way.study.exact ? "" : "at most ") + scientific(way.study.at_rate.at_most) +
                           " at a bit error rate of " + rate_text(way.study.at_rate.rate) + ".");
    page.blank();
    page.line("Rates of both receivers together");
    residual_lines(page, found);
    return page;
}

}  // namespace tools
