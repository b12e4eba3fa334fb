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
    /// Of one link of several.
    struct OfLink {
        std::uint64_t telegrams = 0, accepted = 0, rejected = 0, dropped = 0, dangerous = 0;
    };
    std::vector<OfLink> links = {};  ///< in the order of the capture, as far as telegrams of them came
    void count(const ListedTelegram& telegram);
};

/// Headline and remarks; the rows follow.
Page page_of(const CaptureDecoder& decoder, const DecodeCounts& counts, const std::string& path, Columns columns);
/// The columns' names, above the rows.
std::string row_heading(const CaptureDecoder& decoder, Columns columns);
/// One telegram: a row, its comment below; of several links with the name of its own.
std::string row_of(const ListedTelegram& telegram, const CaptureDecoder& decoder, Columns columns);
/// The same as values: `telegrams[]`.
Value describe(const ListedTelegram& telegram, const CaptureDecoder& decoder);
/// Of several links what each has: `links[]`.
Value describe_links(const DecodeCounts& counts, const CaptureDecoder& decoder);

/// A telegram byte by byte.
Page page_of(const ListedTelegram& telegram, const CaptureDecoder& decoder,
             const std::vector<sim::ExplainedField>& fields, Columns columns);
/// `fields[]`.
Value describe(const std::vector<sim::ExplainedField>& fields);

}  // namespace tools
