// linkdrill crc: one CRC value, or the catalogue.
#include <charconv>
#include <optional>
#include <string>
#include <vector>

#include "proto/crc.hpp"
#include "proto/crc_catalogue.hpp"
#include "sim/scenario/units.hpp"
#include "tools/program/command.hpp"
#include "tools/residual/crc_choice.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

unsigned hex_digits(unsigned width) { return (width + 3) / 4; }

Value describe_spec(const proto::NamedCrc& named) {
    const unsigned digits = hex_digits(named.spec.width);
    return Value::Object{
        {"name", named.name},
        {"width", named.spec.width},
        {"polynomial", sim::written_hex(named.spec.polynomial, digits)},
        {"initial", sim::written_hex(named.spec.initial, digits)},
        {"reflect_in", named.spec.reflect_in},
        {"reflect_out", named.spec.reflect_out},
        {"final_xor", sim::written_hex(named.spec.final_xor, digits)},
        {"check", sim::written_hex(named.check, digits)},
    };
}

Finished list(Columns columns) {
    Finished out;
    out.page = Page(columns);
    Value::List all;
    if (columns.wide()) {
        out.page.line(left_aligned("name", 24) + "width  " + left_aligned("polynomial", 20) +
                      left_aligned("initial", 20) + "reflect  check");
    }
    for (const proto::NamedCrc& named : proto::crc_catalogue()) {
        const unsigned digits = hex_digits(named.spec.width);
        const auto written = [&](std::uint64_t value) { return sim::written_hex(value, digits); };
        const std::string reflect = named.spec.reflect_in    ? (named.spec.reflect_out ? "both" : "in")
                                    : named.spec.reflect_out ? "out"
                                                             : "no";
        const std::string name(named.name);
        const std::string width = right_aligned(std::to_string(named.spec.width), 5);
        if (columns.wide()) {
            out.page.line(left_aligned(name, 24) + width + "  " + left_aligned(written(named.spec.polynomial), 20) +
                          left_aligned(written(named.spec.initial), 20) + left_aligned(reflect, 9) +
                          written(named.check));
        } else {
            out.page.line(left_aligned(name, 24) + width + "  " + written(named.spec.polynomial));
            out.page.line("    initial " + written(named.spec.initial) + "  reflect " + reflect + "  check " +
                          written(named.check));
        }
        all.push_back(describe_spec(named));
    }
    out.document = Value::Object{{"catalogue", std::move(all)}};
    return out;
}

struct Chosen {
    std::string name;  ///< empty: not in the catalogue
    proto::CrcSpec spec;
};

proto::Result<Chosen, Failure> by_parameters(const Arguments& arguments) {
    const auto width = arguments.number("--width", 8, 64);
    if (!width) return width.error();
    const auto polynomial = arguments.hex_number("--polynomial");
    if (!polynomial) return polynomial.error();
    const auto initial = arguments.hex_number("--initial");
    if (!initial) return initial.error();
    const auto final_xor = arguments.hex_number("--final-xor");
    if (!final_xor) return final_xor.error();
    struct Needed {
        const char* name;
        bool there;
    };
    for (const Needed needed :
         {Needed{"--width", width.value().has_value()}, Needed{"--polynomial", polynomial.value().has_value()},
          Needed{"--initial", initial.value().has_value()}, Needed{"--final-xor", final_xor.value().has_value()}})
        if (!needed.there)
            return usage(needed.name, "missing; write --width, --polynomial, --initial and --final-xor, or a name");

    Chosen chosen;
    chosen.spec = {.width = static_cast<unsigned>(*width.value()),
                   .polynomial = *polynomial.value(),
                   .initial = *initial.value(),
                   .reflect_in = arguments.has("--reflect-in"),
                   .reflect_out = arguments.has("--reflect-out"),
                   .final_xor = *final_xor.value()};
    for (const proto::NamedCrc& named : proto::crc_catalogue())
        if (named.spec == chosen.spec) chosen.name = named.name;
    return chosen;
}

proto::Result<Chosen, Failure> chosen_by(const Arguments& arguments) {
    const std::optional<std::string> name = arguments.value("NAME");
    if (!name) return by_parameters(arguments);
    for (const char* option : {"--width", "--polynomial", "--initial", "--final-xor", "--reflect-in", "--reflect-out"})
        if (arguments.has(option))
            return usage(option, "does not go with a name; write the name alone, or all parameters");
    const auto named = crc_named("NAME", *name);
    if (!named) return named.error();
    return Chosen{std::string(named.value()->name), named.value()->spec};
}

/// "31 32 33" or "313233" or "0x31 0x32".
proto::Result<std::vector<std::uint8_t>, Failure> bytes_of_hex(const std::string& typed) {
    std::string digits;
    for (std::size_t i = 0; i < typed.size(); ++i) {
        const bool marked = typed[i] == '0' && i + 1 < typed.size() && (typed[i + 1] == 'x' || typed[i + 1] == 'X');
        if (marked)
            ++i;
        else if (typed[i] != ' ')
            digits += typed[i];
    }
    std::vector<std::uint8_t> bytes;
    const bool even = digits.size() % 2 == 0;
    for (std::size_t i = 0; even && i < digits.size(); i += 2) {
        std::uint8_t byte = 0;
        const auto [end, error] = std::from_chars(digits.data() + i, digits.data() + i + 2, byte, 16);
        if (error != std::errc{} || end != digits.data() + i + 2) break;
        bytes.push_back(byte);
    }
    if (!even || bytes.size() * 2 != digits.size())
        return usage("--hex", "no row of bytes of two hex digits each; write it as \"31 32 33\"");
    return bytes;
}

proto::Result<Finished, Failure> run(const Request& request) {
    const Arguments& arguments = request.arguments;
    if (arguments.has("--list")) {
        for (const char* other : {"NAME", "--hex", "--text", "--width"})
            if (arguments.has(other))
                return usage("--list", std::string("does not go with ") + other + "; write it alone");
        return list(request.columns);
    }
    if (!arguments.has("NAME") && !arguments.has("--width") && !arguments.has("--polynomial"))
        return usage("NAME", "missing; write for example linkdrill crc CRC-32/ISCSI --text 123456789, or crc --list");

    const auto chosen = chosen_by(arguments);
    if (!chosen) return chosen.error();
    if (arguments.has("--hex") == arguments.has("--text"))
        return usage("--hex", arguments.has("--hex") ? "does not go with --text; write one of them"
                                                     : "missing; write --hex \"31 32 33\" or --text 123");
    const std::string text = arguments.value("--text").value_or("");
    std::vector<std::uint8_t> bytes(text.begin(), text.end());
    if (const auto typed = arguments.value("--hex")) {
        auto read = bytes_of_hex(*typed);
        if (!read) return read.error();
        bytes = read.value();
    }

    const auto engine = proto::CrcEngine::make(chosen.value().spec);
    if (!engine) return failure_of(engine.error());
    const std::string value = sim::written_hex(engine.value().over(bytes), hex_digits(chosen.value().spec.width));

    Finished out;
    out.page = Page(request.columns);
    const std::string name = chosen.value().name.empty() ? "not in the catalogue" : chosen.value().name;
    out.page.line(value + "  " + name + " over " + counted(bytes.size(), "byte", "bytes"));
    out.document = Value::Object{{"name", Value::text_or_null(chosen.value().name)}, {"value", value}};
    return out;
}

}  // namespace

Command crc_command() {
    return {
        .name = "crc",
        .group = Command::Group::tools,
        .does = "one CRC value, by name or by parameters, or the list of names",
        .positional = {"NAME", "name of the public CRC catalogue", PositionalSpec::Need::optional},
        .options = {{"--hex", "BYTES", "bytes to go over, as \"31 32 33\""},
                    {"--text", "T", "characters to go over"},
                    {"--list", "", "list the names with their parameters"},
                    {"--width", "W", "without a name: bits, 8 to 64"},
                    {"--polynomial", "0x..", "without its leading term"},
                    {"--initial", "0x..", "value to begin with"},
                    {"--reflect-in", "", "lowest bit of each byte first"},
                    {"--reflect-out", "", "the result with its bits in opposite order"},
                    {"--final-xor", "0x..", "value to combine the result with"}},
        .without = {"--seed", "--out", "--jobs"},
        .example = "linkdrill crc CRC-32/ISCSI --text 123456789",
        .notes = {},
        .run = run,
    };
}

}  // namespace tools
