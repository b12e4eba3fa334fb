#include "sim/capture/explain.hpp"

#include <algorithm>
#include <array>

#include "proto/bytes.hpp"
#include "sim/scenario/ends.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

using Bytes = std::span<const std::uint8_t>;
using Covered = ExplainedField::Covered;
using Fields = std::vector<ExplainedField>;

std::string hex_of_bits(std::uint64_t value, unsigned bits) { return written_hex(value, (bits + 3) / 4); }

/// A field's value: its place lies within the bytes, and it has at most 64 bits.
std::uint64_t value_at(Bytes bytes, unsigned first_bit, unsigned bits) {
    std::uint64_t value = 0;
    for (unsigned i = first_bit; i < first_bit + bits; ++i) value = value << 1 | (bytes[i / 8] >> (7 - i % 8) & 1U);
    return value;
}

ExplainedField& add(Fields& fields, std::string name, Bytes bytes, unsigned first_bit, unsigned bits) {
    ExplainedField field;
    field.name = std::move(name);
    field.first_bit = first_bit;
    field.bits = bits;
    field.bytes = in_hex(bytes.subspan(first_bit / 8, (first_bit + bits + 7) / 8 - first_bit / 8));
    field.covered = Covered::yes;
    return fields.emplace_back(std::move(field));
}

ExplainedField& add_implied(Fields& fields, std::string name, std::string meaning) {
    ExplainedField field;
    field.name = std::move(name);
    field.meaning = std::move(meaning);
    field.covered = Covered::implied;
    return fields.emplace_back(std::move(field));
}

std::string_view name_of_sender(Direction direction) {
    return direction == Direction::to_device ? "from the controller" : "from the device";
}

std::string status_meaning(std::uint8_t status, const TelegramView& view) {
    const bool device = view.direction() == Direction::to_controller;
    std::string out;
    const auto say = [&out](std::string_view what) { out += (out.empty() ? "" : "; ") + std::string(what); };
    if (view.profile().direction == proto::Presence::carried)
        say((status & proto::status_from_device) != 0 ? "from the device" : "from the controller");
    say((status & proto::status_safe) != 0 ? "safe state, substitute values" : "no safe state");
    if ((status & proto::status_request) != 0) say("free of errors again, may be acknowledged");
    if ((status & proto::status_acknowledge) != 0) say(device ? "acknowledgement taken" : "acknowledged");
    if ((status & proto::status_restart) != 0) say("place in the stream lost, handshake needed");
    const std::uint8_t used = proto::status_safe | proto::status_request | proto::status_acknowledge |
                              proto::status_restart | proto::status_from_device;
    if ((status & static_cast<std::uint8_t>(~used)) != 0) say("bits 4 to 6 must be 0");
    return out;
}

std::string ticks(std::uint64_t value, const proto::Profile& profile) {
    return std::to_string(value) + ", " + written(profile.time_stamp_unit * static_cast<std::int64_t>(value)) +
           " modulo the field's range";
}

/// Signals in a payload, as the end of the view has its bits.
std::string payload_meaning(const TelegramView& view, Bytes payload) {
    const bool swapped = view.end().link.byte_order == proto::ByteOrder::low_first;
    std::string out;
    for (const CapturedEnd::Bit& bit : view.end().bits) {
        unsigned at = bit.place.byte;
        if (bit.direction != view.direction() || at >= payload.size()) continue;
        if (swapped && (at ^ 1U) < payload.size()) at ^= 1U;
        out += (out.empty() ? "" : ", ") + bit.signal + " " + ((payload[at] >> bit.place.bit & 1U) != 0 ? "1" : "0") +
               " (" + std::to_string(bit.place.byte) + "." + std::to_string(bit.place.bit) + ")";
    }
    if (out.empty()) out = "values of the application";
    if (swapped) out += "; each pair of bytes exchanged, low byte first";
    return out;
}

/// The fields of a process telegram's first copy; places beyond the end of the bytes are cut.
class ProcessFields {
  public:
    ProcessFields(const TelegramView& view, const TelegramSeen& seen, Bytes bytes)
        : view_(view), seen_(seen), bytes_(bytes), places_(proto::places_of(view.profile(), view.payload_bytes())) {}

    Fields all() {
        implied();
        header();
        payload();
        crc();
        second_copy();
        length();
        return std::move(fields_);
    }

  private:
    [[nodiscard]] bool here(proto::FieldPlace place) const {
        return place.bits != 0 && place.first_bit + place.bits <= bytes_.size() * 8;
    }
    [[nodiscard]] std::uint64_t value(proto::FieldPlace place) const {
        return value_at(bytes_, place.first_bit, place.bits);
    }
    ExplainedField* field(std::string name, proto::FieldPlace place) {
        if (!here(place)) return nullptr;
        return &add(fields_, std::move(name), bytes_, place.first_bit, place.bits);
    }

    void implied() {
        const proto::Profile& profile = view_.profile();
        if (profile.direction == proto::Presence::implied)
            add_implied(fields_, "direction", std::string(name_of_sender(view_.direction())));
        if (profile.address.presence == proto::Presence::implied) {
            add_implied(fields_, "source", in_both_bases(view_.source_as_typed()));
            add_implied(fields_, "destination", in_both_bases(view_.destination_as_typed()));
        }
        if (profile.sequence.presence != proto::Presence::implied) return;
        std::string tried;
        for (const std::uint32_t number : seen_.tries) tried += (tried.empty() ? "" : ", ") + std::to_string(number);
        add_implied(fields_, "number",
                    seen_.unknown  ? "not known: the capture holds no handshake before"
                    : seen_.number ? std::to_string(*seen_.number) + ": the CRC fits; tried as allowed: " + tried
                                   : "the CRC fits none that is allowed: " + tried);
    }

    void address(std::string name, proto::FieldPlace place, const TypedAddress& typed) {
        ExplainedField* const added = field(std::move(name), place);
        if (added == nullptr) return;
        const TypedAddress here{static_cast<std::uint32_t>(value(place)), typed.hex_digits};
        const TypedAddress expected{static_cast<std::uint32_t>(typed.value & proto::low_mask(place.bits)),
                                    typed.hex_digits};
        added->found = hex_of_bits(here.value, place.bits);
        added->expected = hex_of_bits(expected.value, place.bits);
        const std::string whose = "address of the " + std::string(added->name == "source" ? "sender" : "receiver");
        if (!added->differs()) {
            added->meaning = whose + ", " + in_both_bases(here);
            return;
        }
        const std::string agree = digits_that_agree(here, expected);
        added->meaning = "another address, " + in_both_bases(here) + "; that of the " + whose.substr(15) + " is " +
                         in_both_bases(expected) + (agree.empty() ? "" : "; " + agree);
    }

    void header() {
        const proto::Profile& profile = view_.profile();
        if (ExplainedField* status = field("status", places_.status))
            status->meaning = status_meaning(static_cast<std::uint8_t>(value(places_.status)), view_);
        address("source", places_.source, view_.source_as_typed());
        address("destination", places_.destination, view_.destination_as_typed());
        if (ExplainedField* number = field("number", places_.number)) {
            const bool answer =
                view_.direction() == Direction::to_controller && view_.end().link.exchange == proto::Exchange::polled;
            number->meaning = std::to_string(value(places_.number)) + (answer ? ", the number that is answered" : "");
        }
        if (ExplainedField* feedback = field("feedback", places_.feedback))
            feedback->meaning = std::to_string(value(places_.feedback)) + ", the number last accepted from the peer";
        if (ExplainedField* stamp = field("time stamp", places_.stamp))
            stamp->meaning = ticks(value(places_.stamp), profile) + ", the sender's clock";
        if (ExplainedField* echo = field("echo", places_.echo))
            echo->meaning = ticks(value(places_.echo), profile) + ", the peer's stamp last accepted";
        const proto::Layout& layout = view_.layout();
        const proto::FieldPlace padding{layout.header_bits, layout.header_bytes * 8 - layout.header_bits};
        if (ExplainedField* pad = field("padding", padding)) {
            pad->meaning = "always 0";
            pad->expected = hex_of_bits(0, padding.bits);
            pad->found = hex_of_bits(value(padding), padding.bits);
        }
    }

    void payload() {
        if (ExplainedField* payload = field("payload", places_.payload))
            payload->meaning =
                payload_meaning(view_, bytes_.subspan(view_.layout().header_bytes, view_.payload_bytes()));
    }

    void crc() {
        ExplainedField* const added = field("CRC", places_.crc);
        if (added == nullptr) return;
        const proto::CrcSpec& spec = *view_.profile().crc;
        added->covered = Covered::value;
        const std::uint8_t* const at = bytes_.data() + places_.crc.first_bit / 8;
        const unsigned count = places_.crc.bits / 8;
        const std::uint64_t found = spec.reflect_out ? proto::load_le(at, count) : proto::load_be(at, count);
        added->found = hex_of_bits(found, places_.crc.bits);
        const std::string name =
            view_.profile().crc_name.empty() ? std::to_string(spec.width) + " bits" : view_.profile().crc_name;
        added->meaning = name + " over ";
        for (const ExplainedField& other : fields_)
            if (other.covered == Covered::implied) added->meaning += other.name + ", ";
        added->meaning += "bytes 0-" + std::to_string(places_.crc.first_bit / 8 - 1);
        if (seen_.unknown) {
            added->meaning += "; not to be checked";
            added->expected = added->found;
            return;
        }
        const std::uint32_t number = seen_.number ? *seen_.number : seen_.tries.empty() ? 0 : seen_.tries.front();
        added->expected = hex_of_bits(view_.codec().crc_of(bytes_, number), places_.crc.bits);
        if (spec.reflect_out) added->meaning += "; low byte first";
        if (!seen_.number && !seen_.tries.empty())
            added->meaning += "; expected under number " + std::to_string(number);
        if (std::all_of(bytes_.begin(), bytes_.end(), [](std::uint8_t byte) { return byte == 0; }))
            added->meaning += "; nothing but zeros is always rejected";
    }

    void second_copy() {
        const unsigned copy = view_.layout().copy_bytes;
        if (view_.profile().copies != 2 || bytes_.size() < 2 * std::size_t{copy}) return;
        ExplainedField& second = add(fields_, "second copy", bytes_, copy * 8, copy * 8);
        second.covered = Covered::no;
        proto::BitUse turned{};
        std::string differing;
        for (unsigned i = 0; i < copy; ++i) {
            turned[i] = static_cast<std::uint8_t>(~bytes_[i]);
            if (turned[i] != bytes_[copy + i]) differing += (differing.empty() ? "" : ", ") + std::to_string(copy + i);
        }
        second.expected = in_hex(Bytes(turned.data(), copy));
        second.found = second.bytes;
        second.meaning = "every bit of the first turned over";
        if (!differing.empty()) second.meaning += "; differs in byte " + differing;
    }

    void length() {
        const std::size_t expected = view_.layout().total_bytes;
        if (bytes_.size() == expected) return;
        const unsigned known = fields_.empty() || !fields_.back().first_bit
                                   ? 0
                                   : (*fields_.back().first_bit + fields_.back().bits + 7) / 8;
        if (bytes_.size() > known) {
            ExplainedField& rest = add(fields_, bytes_.size() > expected ? "too long" : "cut short", bytes_, known * 8,
                                       static_cast<unsigned>((bytes_.size() - known) * 8));
            rest.covered = Covered::no;
            rest.meaning = "no whole field";
        }
        ExplainedField length;
        length.name = "length";
        length.meaning = "bytes in all";
        length.expected = std::to_string(expected);
        length.found = std::to_string(bytes_.size());
        fields_.push_back(std::move(length));
    }

    const TelegramView& view_;
    const TelegramSeen& seen_;
    Bytes bytes_;
    proto::FieldPlaces places_;
    Fields fields_;
};

// ---- parameter telegrams: fixed layout, see proto/FORMAT.md ----

constexpr std::array<std::uint8_t, 4> parameter_mark{0xD1, 'L', 'P', 0x01};

bool looks_like_parameters(Bytes bytes) {
    return bytes.size() == proto::parameter_telegram_bytes &&
           std::equal(parameter_mark.begin(), parameter_mark.end(), bytes.begin());
}

std::string step_meaning(std::uint64_t step) {
    switch (step) {
        case 1: return "offer, of the controller";
        case 2: return "answer, of the device";
        case 3: return "confirm, of the controller";
        case 4: return "ready, of the device";
        default: return "none that there is";
    }
}

struct ParameterField {
    const char* name;
    unsigned at, bytes;
    enum class Form : std::uint8_t {
        hex,
        address,
        decimal,
        microseconds,
        step,
        refusal,
        exchange,
        byte_order,
        mark
    } form;
};
using Form = ParameterField::Form;

constexpr ParameterField parameter_fields[] = {
    {"mark and version", 0, 4, Form::mark},
    {"step", 4, 1, Form::step},
    {"refusal", 5, 1, Form::refusal},
    {"always 0", 6, 2, Form::hex},
    {"number drawn by the controller", 8, 8, Form::hex},
    {"number drawn by the device", 16, 8, Form::hex},
    {"first sequence number", 24, 4, Form::decimal},
    {"sender's clock", 28, 4, Form::decimal},
    {"address of the controller", 32, 4, Form::address},
    {"address of the device", 36, 4, Form::address},
    {"identity of the profile", 40, 4, Form::hex},
    {"payload to the device", 44, 2, Form::decimal},
    {"payload to the controller", 46, 2, Form::decimal},
    {"bits in use to the device", 48, 4, Form::hex},
    {"bits in use to the controller", 52, 4, Form::hex},
    {"cycle", 56, 4, Form::microseconds},
    {"watchdog of the controller", 60, 4, Form::microseconds},
    {"watchdog of the device", 64, 4, Form::microseconds},
    {"exchange", 68, 1, Form::exchange},
    {"byte order", 69, 1, Form::byte_order},
    {"telegrams that may be missing", 70, 1, Form::decimal},
    {"claimed integrity level", 71, 1, Form::decimal},
};

std::string meaning_of(const ParameterField& field, std::uint64_t value) {
    switch (field.form) {
        case Form::hex: return written_hex(value, field.bytes * 2);
        case Form::address: return in_both_bases({static_cast<std::uint32_t>(value), field.bytes * 2});
        case Form::decimal: return std::to_string(value);
        case Form::microseconds: return written(proto::microseconds(static_cast<std::int64_t>(value)));
        case Form::step: return step_meaning(value);
        case Form::refusal:
            if (value == 0) return "none";
            return value < proto::refusal_count ? std::string(name_of(static_cast<proto::Refusal>(value))) + " differs"
                                                : "none that there is";
        case Form::exchange: return value == 0 ? "polled" : value == 1 ? "streaming" : "none that there is";
        case Form::byte_order:
            return value == 0 ? "high byte first" : value == 1 ? "low byte first" : "none that there is";
        case Form::mark: return "parameter telegram, layout " + std::to_string(value & 0xFF);
    }
    return "";
}

Fields explain_parameters(Bytes bytes) {
    Fields fields;
    for (const ParameterField& each : parameter_fields) {
        ExplainedField& field = add(fields, each.name, bytes, each.at * 8, each.bytes * 8);
        field.meaning = meaning_of(each, proto::load_be(bytes.data() + each.at, each.bytes));
    }
    const auto check = [&](std::string name, unsigned at, Bytes over, std::string meaning, Covered covered) {
        ExplainedField& field = add(fields, std::move(name), bytes, at * 8, 32);
        field.meaning = std::move(meaning);
        field.expected = hex_of_bits(proto::parameter_crc(over), 32);
        field.found = hex_of_bits(proto::load_be(bytes.data() + at, 4), 32);
        field.covered = covered;
    };
    check("signature", 72, bytes.subspan(32, 40), "CRC over bytes 32-71, the same at both ends", Covered::yes);
    check("CRC", 76, bytes.first(76), "32 bits over bytes 0-75", Covered::value);
    return fields;
}

}  // namespace

std::string in_hex(Bytes bytes) {
    constexpr const char* digits = "0123456789ABCDEF";
    std::string out;
    for (const std::uint8_t byte : bytes) {
        if (!out.empty()) out += ' ';
        out += digits[byte >> 4];
        out += digits[byte & 15U];
    }
    return out;
}

Fields explain(const TelegramView& view, const TelegramSeen& seen, Bytes bytes) {
    if (looks_like_parameters(bytes)) return explain_parameters(bytes);
    return ProcessFields(view, seen, bytes).all();
}

}  // namespace sim
