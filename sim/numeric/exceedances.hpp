#pragma once
// When the longest of a series of times came: each by itself, or several together.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"

namespace sim {

/// The places of the values above a level, in order; of `of` values in all.
struct Exceedances {
    std::vector<std::uint64_t> places;
    std::uint64_t of = 0;
    proto::Duration above{};  ///< all of them are longer
};
/// Of the values that are longer than `level`.
Exceedances exceedances_of(const std::vector<proto::Duration>& series, proto::Duration level);

/// The longest hundredth, though at least 20, of a series. Equal values stay together, so it can be a few less, down to
/// half, or more, up to a quarter of all; nothing where that leaves no choice, or among under 200 values.
std::optional<Exceedances> longest_of_all(const std::vector<proto::Duration>& series);

struct ClusterTest {
    std::uint64_t exceedances = 0;
    proto::Duration above{};
    /// Groups without a gap. If every order is as likely as another their number follows a hypergeometric law
    /// (Stevens, Annals of Eugenics 9, 1939), by which its p-value is exact.
    std::uint64_t runs = 0;
    double runs_expected = 0.0;
    double runs_p = 1.0;
    /// The extremal index by the intervals between exceedances (Ferro and Segers, Journal of the Royal Statistical
    /// Society B 65, 2003), 0 to 1: one over the mean number in a cluster; 1 if each comes by itself.
    double extremal_index = 1.0;
    /// Of the squared intervals, which that rests on; see spacings_p(). Small as well where late ones come too evenly.
    double intervals_p = 1.0;
    std::uint64_t clusters = 0;         ///< as the extremal index separates them, by the longest intervals
    std::uint64_t longest_cluster = 1;  ///< values from its first exceedance to its last, those between included
};
/// Requires at least 3 exceedances.
ClusterTest cluster_test(const Exceedances& late);

}  // namespace sim
