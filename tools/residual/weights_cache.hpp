#pragma once
// Weight distributions that were computed before, in the user's cache folder: $XDG_CACHE_HOME/linkdrill or
// ~/.cache/linkdrill. One text file for each CRC and length, with a checksum, put in place by renaming. A file that
// cannot be used is said on standard error and the weights are computed again; only a file that linkdrill wrote is ever
// replaced.
#include <optional>
#include <string>

#include "sim/integrity/weights.hpp"

namespace tools {

class WeightsCache {
  public:
    /// `folder`: empty for no cache at all.
    explicit WeightsCache(std::string folder) : folder_(std::move(folder)) {}
    /// Where the environment says that such files belong; empty if it says nothing.
    static std::string usual_folder();

    /// From the cache, or computed and then kept there. The requirements of sim::weight_distribution().
    sim::WeightDistribution get(const sim::Generator& generator, unsigned data_bits, const sim::Effort& effort);

    [[nodiscard]] std::string file_of(const sim::Generator& generator, unsigned data_bits) const;

  private:
    enum class Found { nothing, usable, corrupt, foreign };
    /// Reads `file`; fills `dual` if it is usable.
    static Found read(const std::string& file, const sim::Generator& generator, unsigned data_bits,
                      std::vector<std::uint64_t>& dual);
    void keep(const std::string& file, const sim::WeightDistribution& weights);
    void say_once(const std::string& text);

    std::string folder_;
    bool said_ = false;  ///< that nothing can be kept
};

}  // namespace tools
