#include "tools/residual/crc_choice.hpp"

#include "tools/program/arguments.hpp"
#include "tools/text/text.hpp"

namespace tools {

Failure failure_of(proto::CrcSpecError error) {
    switch (error) {
        case proto::CrcSpecError::width_out_of_range: return usage("--width", "out of range; write 8 to 64");
        case proto::CrcSpecError::polynomial_too_wide:
            return usage("--polynomial",
                         "does not fit the width; write it without its leading term, as 0x1021 for 16 bits");
        case proto::CrcSpecError::polynomial_without_one:
            return usage("--polynomial", "even, so some single bits would go unseen; write one that ends in 1");
        case proto::CrcSpecError::initial_too_wide:
            return usage("--initial", "does not fit the width; write fewer digits");
        case proto::CrcSpecError::final_xor_too_wide:
            return usage("--final-xor", "does not fit the width; write fewer digits");
    }
    return usage({}, "these are no parameters of a CRC");
}

proto::Result<const proto::NamedCrc*, Failure> crc_named(const std::string& where, const std::string& name) {
    if (const proto::NamedCrc* named = proto::find_crc(name)) return named;
    const std::string shown = name.substr(0, 60);
    return usage(where, "\"" + shown + "\" is not in the catalogue; did you mean " +
                            std::string(proto::nearest_crc_name(shown)) + "? All: linkdrill crc --list");
}

proto::Result<ResidualSubject, Failure> crc_of(const std::string& where, const std::string& typed) {
    ResidualSubject subject;
    const std::size_t colon = typed.find(':');
    if (colon == std::string::npos) {
        const auto named = crc_named(where, typed);
        if (!named) return named.error();
        subject.name = named.value()->name;
        subject.generator = {named.value()->spec.width, named.value()->spec.polynomial};
        return subject;
    }
    Arguments parts;
    parts.set("--width", typed.substr(0, colon));
    parts.set("--polynomial", typed.substr(colon + 1));
    const auto width = parts.number("--width", 8, 64);
    if (!width)
        return usage(where, in_quotes(typed.substr(0, 60)) + " begins with no width of 8 to 64; write 32:0xF4ACFB13");
    const auto polynomial = parts.hex_number("--polynomial");
    if (!polynomial)
        return usage(where, in_quotes(typed.substr(0, 60)) + " has no hex number behind it; write 32:0xF4ACFB13");
    subject.generator = {static_cast<unsigned>(*width.value()), *polynomial.value()};
    const proto::CrcSpec spec{.width = subject.generator.width, .polynomial = subject.generator.polynomial};
    if (const auto engine = proto::CrcEngine::make(spec); !engine) {
        Failure failure = failure_of(engine.error());
        if (where == "--compare") failure.key = where;
        return failure;
    }
    subject.name = typed;
    for (const proto::NamedCrc& named : proto::crc_catalogue())
        if (named.spec.width == spec.width && named.spec.polynomial == spec.polynomial) {
            subject.notes.push_back("the polynomial of " + std::string(named.name) +
                                    "; initial value, reflection and final xor change none of these figures");
            break;
        }
    return subject;
}

}  // namespace tools
