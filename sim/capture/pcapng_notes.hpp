#pragma once
// Walks the blocks of a pcapng file for what libpcap does not hand out: comments and interfaces.
#include <cstdint>
#include <istream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sim {

class PcapngNotes {
  public:
    /// Nothing if the file cannot be opened or does not begin like a pcapng file. Reads up to the first packet's block.
    static std::optional<PcapngNotes> open(const std::string& path);
    /// The same of what lies in a stream that can be wound back.
    static std::optional<PcapngNotes> of(std::unique_ptr<std::istream> in);

    struct Note {
        std::uint32_t interface = 0;  ///< in its section; 0 where a block names none
        std::string comment;          ///< all comments of the packet, one to a line
    };
    /// Of the next packet block of any kind, in the order of the file; nothing at the end, or from where on the blocks
    /// make no sense.
    std::optional<Note> next();

    /// Of the first section.
    [[nodiscard]] const std::string& application() const { return application_; }
    [[nodiscard]] const std::vector<std::string>& section_comments() const { return section_comments_; }
    /// Names of the interfaces seen so far in the section that is being read; empty where there is none.
    [[nodiscard]] const std::vector<std::string>& interface_names() const { return interface_names_; }

  private:
    struct Block {
        std::uint32_t type = 0;
        std::uint32_t left = 0;  ///< bytes of its body not read yet
    };
    explicit PcapngNotes(std::unique_ptr<std::istream> in);
    bool begin_block();
    bool end_block();
    bool read_section();
    bool read_interface();
    std::optional<Note> read_packet();
    bool read(std::uint8_t* to, std::uint32_t bytes);
    bool skip(std::uint32_t bytes);
    [[nodiscard]] std::uint64_t number(const std::uint8_t* at, unsigned bytes) const;
    template <class Take>
    bool read_options(Take take);

    std::unique_ptr<std::istream> in_;
    Block block_;
    bool low_first_ = true;
    bool first_section_ = true;
    std::uint32_t interfaces_ = 0;
    std::string application_;
    std::vector<std::string> section_comments_, interface_names_;
    std::optional<Block> waiting_;  ///< the first packet's block, begun by open()
};

}  // namespace sim
