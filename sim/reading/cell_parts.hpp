#pragma once
// A file with several links, taken apart: which table belongs to which link, and the same file as each link sees it.
#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/reading/document.hpp"
#include "sim/reading/section.hpp"

namespace sim {

/// What belongs to which link, by places in the file. Names as typed; what is wrong with them was said.
struct CellParts {
    struct Link {
        std::string name;
        std::string device;  ///< name of the station
    };
    struct Machine {
        std::string name;
        std::size_t home = 0;  ///< the link at whose device it is
    };
    std::string controller;  ///< name of the station
    std::vector<Link> links;
    std::vector<Machine> machines;
    std::vector<std::optional<std::size_t>> safeguards;  ///< the link at whose device it is read; nothing: controller
    std::vector<std::size_t> signals, values;            ///< its link
    std::vector<std::optional<std::size_t>> faults;      ///< its link; nothing: of the controller, in all links
    /// By fault: the link of the cell that its telegrams come from or go to; nothing: none, or a foreign one.
    std::vector<std::optional<std::size_t>> other_links;
    /// By act: the link at which it is done; nothing: at all of them.
    std::vector<std::optional<std::size_t>> acts;
};

/// Whether a file's tree has several links: links or machines in a list.
bool is_cell(const Node& document);

/// Says what is wrong with the keys that tell links apart; only good if nothing was.
CellParts cell_parts(Section& top);

/// One link's file: as if it stood alone, see CellLink.
struct LinkDocument {
    Node node;
    /// Dotted keys there, and where in the whole file they stand; of several that fit the longest counts.
    std::vector<std::pair<std::string, std::string>> keys;
};
LinkDocument document_of_link(const Node& document, const CellParts& parts, std::size_t link);
/// A key of that document as it stands in the whole file.
std::string key_in_file(const LinkDocument& document, const std::string& key);

}  // namespace sim
