#pragma once
// Which measure catches which error, as published. Facts only; the words of the tables are not carried over.
#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "proto/verdict.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

enum class Source : std::uint8_t {
    iec_62541_15,  ///< release 1.05.04, Table 2: a polled telegram with number, identifiers, CRC, time-out with
                   ///< feedback
    iec_61784_3,   ///< edition 2, Table 1; from memory
    en_50159,      ///< EN 50159:2010, Table 1; the marked pairs published, the positions of columns from memory
};
inline constexpr std::array sources{Source::iec_62541_15, Source::iec_61784_3, Source::en_50159};
inline constexpr std::size_t source_count = sources.size();

/// Short name, as in JSON: "IEC 62541-15", "IEC 61784-3", "EN 50159".
std::string_view name_of(Source source);
/// Table, edition, and how far it is known from memory only.
std::string_view reference_of(Source source);

/// Whether a source marks a measure against an error; nothing where it has no such row or column, marks it only under
/// a condition, or where memory is unsure. Table 2's time-out with feedback stands for both measures.
std::optional<bool> published(Source source, ErrorKind error, proto::Measure measure);

/// What a source says besides about a mark, in words; empty for most.
std::string_view condition_of(Source source, ErrorKind error, proto::Measure measure);

}  // namespace sim
