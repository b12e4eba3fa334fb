#include "sim/capture/explain_values.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "sim/scenario/value_codec.hpp"

namespace sim {
namespace {

using Bytes = std::span<const std::uint8_t>;

/// Where a byte typed at that end lies in the payload on the wire.
unsigned on_wire(unsigned byte, const CapturedEnd& end, std::size_t payload) {
    return end.link.byte_order == proto::ByteOrder::low_first && (byte | 1U) < payload ? byte ^ 1U : byte;
}

std::vector<std::uint8_t> as_typed(const CapturedEnd& end, Bytes payload) {
    std::vector<std::uint8_t> moved(payload.size());
    for (unsigned i = 0; i < payload.size(); ++i) moved[i] = payload[on_wire(i, end, payload.size())];
    return moved;
}

std::string meaning_of(const CapturedEnd::Number& value, const std::vector<std::uint8_t>& payload) {
    const std::int64_t count = count_in(value.typed, payload);
    const std::int64_t quantity = quantity_in(value.typed, payload);
    const std::string substitute = in_words(value.safe == SafeEnd::low ? value.low : value.high, value.unit);
    std::string words = "count " + std::to_string(count) + ", " + in_words(quantity, value.unit) + " (" +
                        std::string(name_of(value.typed.type)) +
                        (bytes_of(value.typed.type) > 1 ? ", " + std::string(words_of(value.typed.order)) : "") + ")";
    if (std::all_of(payload.begin(), payload.end(), [](std::uint8_t byte) { return byte == 0; }))
        words += "; a payload of zeros stands for substitutes: " + substitute;
    else if (quantity < value.low || quantity > value.high)
        words += "; out of range, the substitute is used: " + substitute;
    return words;
}

}  // namespace

void explain_values(const CaptureSettings& settings, const TelegramView& view, Bytes bytes,
                    std::vector<ExplainedField>& fields) {
    const auto payload_field =
        std::find_if(fields.begin(), fields.end(), [](const ExplainedField& field) { return field.name == "payload"; });
    const unsigned header = view.layout().header_bytes;
    if (payload_field == fields.end() || bytes.size() < std::size_t{header} + view.payload_bytes()) return;
    const Bytes payload = bytes.subspan(header, view.payload_bytes());
    std::vector<ExplainedField> added;
    for (std::size_t i = 0; i < std::max(settings.controller.values.size(), settings.device.values.size()); ++i)
        for (const CapturedEnd* end : {&settings.controller, &settings.device}) {
            if (i >= end->values.size()) continue;
            const CapturedEnd::Number& value = end->values[i];
            if (value.direction != view.direction() || value.typed.at + bytes_of(value.typed.type) > payload.size())
                continue;
            std::vector<unsigned> places;
            for (unsigned k = 0; k < bytes_of(value.typed.type); ++k)
                places.push_back(on_wire(value.typed.at + k, *end, payload.size()));
            std::sort(places.begin(), places.end());
            ExplainedField field;
            field.name = value.name + ", " + end->name;
            field.first_bit = (header + places.front()) * 8;
            field.bits = (places.back() - places.front() + 1) * 8;
            field.bytes = in_hex(payload.subspan(places.front(), places.back() - places.front() + 1));
            field.meaning = meaning_of(value, as_typed(*end, payload));
            field.covered = ExplainedField::Covered::yes;
            added.push_back(std::move(field));
        }
    fields.insert(payload_field + 1, added.begin(), added.end());
}

}  // namespace sim
