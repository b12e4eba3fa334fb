#pragma once
// Keys that readers have asked for, each with all that it may hold.
#include <map>
#include <set>
#include <string>
#include <vector>

#include "sim/reading/key_ears.hpp"

namespace sim {

class HeardKeys final : public KeyEars {
  public:
    /// Of a key that was asked for several times: one shape a kind, as wide as the widest.
    using Shapes = std::vector<KeyShape>;

    void asked(const std::string& path, const KeyShape& shape) override;
    /// By path without indices: "fault[].at"; a name that the file gives is "*": "bits.*".
    [[nodiscard]] const std::map<std::string, Shapes>& all() const { return all_; }
    [[nodiscard]] const Shapes* find(const std::string& path) const;

  private:
    std::map<std::string, Shapes> all_;
    std::set<std::string> free_;  ///< paths of tables with names that the file gives

    [[nodiscard]] std::string without_names(const std::string& path) const;
};

/// All keys that the readers of such a file know, heard from them as they read files made for it. `drill` is without
/// what it lays over its plant, which is a scenario.
enum class KeysOf : std::uint8_t { scenario, profile, module, drill };
HeardKeys keys_of(KeysOf file);

/// Lets somebody hear what the readers ask of a text, a file of that path, whatever is wrong with it.
void hear_keys(const std::string& text, const std::string& path, KeyEars& ears);

}  // namespace sim
