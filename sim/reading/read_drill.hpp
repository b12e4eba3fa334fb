#pragma once
// Reading drills and action cards. The format is described in scenarios/drills/README.md.
#include <string>

#include "sim/reading/read.hpp"
#include "sim/training/drill.hpp"

namespace sim {

/// The action cards in a file, or the first thing that is wrong with it.
proto::Result<std::vector<ActionCard>, FileError> read_action_cards(const std::string& path);
/// The same of a text; `path` is where it comes from, for messages.
proto::Result<std::vector<ActionCard>, FileError> action_cards_in(const std::string& text, const std::string& path);

/// The action cards of a folder of drills.
proto::Result<std::vector<ActionCard>, FileError> read_cards_of(const std::string& folder);

/// The drill in a file, or the first thing that is wrong with it. Every action in it must be one of the cards.
proto::Result<Drill, FileError> read_drill(const std::string& path, const std::vector<ActionCard>& cards);
/// The same of a text; its plant is looked for as if it were the file at `path`.
proto::Result<Drill, FileError> drill_in(const std::string& text, const std::string& path,
                                         const std::vector<ActionCard>& cards);

/// The cards (actions.toml) and all drills (other *.toml) of a folder, by number.
proto::Result<DrillSet, FileError> read_drills(const std::string& folder);

}  // namespace sim
