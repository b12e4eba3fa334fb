#include "tools/residual/residual_document.hpp"

#include <array>
#include <cstdio>
#include <cstdlib>

#include <optional>
#include <string>
#include <utility>

#include "tools/residual/residual_words.hpp"

namespace tools {
namespace {

/// Where a maximum lies is known to half of a number's digits, since the curve is level there.
double where_level(double rate) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.6g", rate);
    return std::strtod(text.data(), nullptr);
}

Value number_of(const std::optional<sim::ScaledReal>& value) { return value ? Value(value->to_double()) : Value(); }
Value at_rate(const std::optional<sim::AtRate>& value) {
    if (!value) return {};
    return Value::Object{{"p", where_level(value->rate)}, {"value", value->value.to_double()}};
}

constexpr std::size_t weights_told = 12;  ///< at least

Value weights_of(const ResidualStudy& study) {
    Value::Object weights;
    for (const ResidualStudy::Weight& weight : study.weights)
        weights.push_back({std::to_string(weight.bits), weight.count});
    // not counted: no value
    for (std::size_t k = study.weights.size() + 1; k <= weights_told; ++k)
        weights.push_back({std::to_string(k), Value()});
    return weights;
}

Value row_of(const ResidualRow& row) {
    return Value::Object{{"p", row.rate},
                         {"value", number_of(row.exact)},
                         {"at_least", row.at_least.to_double()},
                         {"at_most", row.at_most.to_double()},
                         {"customary", row.customary.to_double()},
                         {"factor", factor_of(row)}};
}

Value met_value(LevelVerdict verdict) {
    return verdict == LevelVerdict::not_asked ? Value() : Value(verdict == LevelVerdict::met);
}

}  // namespace

Value methods_of(const std::vector<sim::MethodResult>& all) {
    Value::List methods;
    for (const sim::MethodResult& method : all)
        methods.push_back(Value::Object{{"name", method.name},
                                        {"source", method.source},
                                        {"confidence", method.confidence},
                                        {"rate_per_hour", Value::of(method.rate_per_hour)},
                                        {"share_per_hour", Value::of(method.share_per_hour)},
                                        {"met", Value::of(method.met)},
                                        {"why", method.why}});
    return methods;
}

Value describe(const ResidualStudy& study, const ResidualAsked& asked) {
    const ResidualSubject& subject = study.subject;
    Value::List rows;
    for (const ResidualRow& row : study.rows) rows.push_back(row_of(row));
    const LevelVerdict verdict = verdict_of(study.methods, asked.method);
    const std::optional<unsigned> carried = level_carried(study.methods, asked.method);
    return Value::Object{
        {"name", subject.name},
        {"width", subject.generator.width},
        {"polynomial", polynomial_of(subject.generator)},
        {"data_bits", subject.data_bits},
        {"copies", subject.copies},
        {"numbers_tried", subject.tries},
        {"exact", study.exact},
        {"hd", study.hd},
        {"hd_is_bound", study.hd_is_bound},
        {"weights", weights_of(study)},
        {"residual", std::move(rows)},
        {"bit_error_rate", study.at_rate.rate},
        {"at_bit_error_rate", number_of(study.at_rate.exact)},
        {"at_bit_error_rate_bounds", Value::Object{{"at_least", study.at_rate.at_least.to_double()},
                                                   {"at_most", study.at_rate.at_most.to_double()}}},
        {"maximum", at_rate(study.maximum)},
        {"maximum_of_the_wrong", at_rate(study.maximum_of_the_wrong)},
        {"proper", Value::of(study.proper)},
        {"customary_too_low", at_rate(study.worst_of_customary)},
        {"sil", Value::of(asked.level)},
        {"telegrams_per_hour", Value::of(asked.telegrams_per_hour)},
        {"receivers", asked.receivers},
        {"methods", methods_of(study.methods)},
        {"met", met_value(verdict)},
        {"level_carried", Value::of(carried)},
        {"notes", Value::list_of(subject.notes)},
    };
}

Value describe_comparison(const std::vector<ResidualStudy>& studies, const ResidualAsked& asked) {
    Value::List all;
    bool met = true;
    for (const ResidualStudy& study : studies) {
        all.push_back(describe(study, asked));
        met = met && verdict_of(study.methods, asked.method) == LevelVerdict::met;
    }
    return Value::Object{{"met", asked.level ? Value(met) : Value()}, {"crcs", std::move(all)}};
}

Value describe_scan(const std::vector<ScannedLength>& lengths, const ResidualAsked& asked) {
    Value::List all;
    for (const ScannedLength& length : lengths) {
        const ResidualStudy& study = length.study;
        all.push_back(Value::Object{{"payload_bytes", length.payload_bytes},
                                    {"data_bits", study.subject.data_bits},
                                    {"hd", study.hd},
                                    {"at_bit_error_rate", number_of(study.at_rate.exact)},
                                    {"maximum", at_rate(study.maximum)},
                                    {"proper", Value::of(study.proper)},
                                    {"methods", methods_of(study.methods)},
                                    {"met", met_value(verdict_of(study.methods, asked.method))}});
    }
    const unsigned lost = asked.level ? first_lost(lengths, asked.method) : 0;
    const ResidualStudy& first = lengths.front().study;
    return Value::Object{{"name", first.subject.name},
                         {"width", first.subject.generator.width},
                         {"polynomial", polynomial_of(first.subject.generator)},
                         {"bit_error_rate", first.at_rate.rate},
                         {"sil", Value::of(asked.level)},
                         {"met", asked.level ? Value(lost == 0) : Value()},
                         {"first_lost_payload_bytes", lost != 0 ? Value(lost) : Value()},
                         {"lengths", std::move(all)}};
}

}  // namespace tools
