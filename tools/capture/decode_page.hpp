#pragma once
// How decode shows a capture: the list, and one telegram byte by byte; for people and as values.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/capture/explain.hpp"
#include "tools/capture/capture_decoder.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// All telegrams of a capture, counted.
struct DecodeCounts {
    std::uint64_t telegrams = 0, rejected = 0, dropped = 0, dangerous = 0, commented = 0, unchecked = 0;
    std::uint64_t packets = 0, others = 0;
    void count(const ListedTelegram& telegram);
};

/// Headline and remarks; the rows follow.
Page page_of(const CaptureDecoder& decoder, const DecodeCounts& counts, const std::string& path, Columns columns);
/// The columns' names, above the rows.
std::string row_heading(Columns columns);
/// One telegram: a row, its comment below.
std::string row_of(const ListedTelegram& telegram, Columns columns);
/// The same as values: `telegrams[]`.
Value describe(const ListedTelegram& telegram);

/// A telegram byte by byte.
Page page_of(const ListedTelegram& telegram, const CaptureDecoder& decoder,
             const std::vector<sim::ExplainedField>& fields, Columns columns);
/// `fields[]`.
Value describe(const std::vector<sim::ExplainedField>& fields);

}  // namespace tools
