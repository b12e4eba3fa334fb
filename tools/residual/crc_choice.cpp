#include "tools/residual/crc_choice.hpp"

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

}  // namespace tools
