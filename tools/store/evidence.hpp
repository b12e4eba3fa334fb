#pragma once
// The folder with the evidence of a command. A file in it is either whole or not there.
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "sim/capture/capture_writer.hpp"
#include "tools/program/failure.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

struct EvidenceFile {
    std::string name;
    std::string content;
    std::string staged = {};  ///< path of the file that already holds it, see StagedFile; `content` does not count then
};

/// "linkdrill-out/NAME" for a scenario file ".../NAME.toml", "linkdrill-out/standard-input" for "-".
std::string default_folder_of(const std::string& scenario_file);

/// Puts the files into `folder`, which is made if it is not there. A folder that holds anything must hold linkdrill's
/// mark, else it is somebody else's and left alone. Everything is first written under other names and synced; then the
/// old files of these names go, and the new ones take their places, the last of the list at the very end: where it is,
/// the rest is there and of the same run. Files named in `gone` go with the old ones. Two programs at once take turns.
std::optional<Failure> put_evidence(const std::string& folder, const std::vector<EvidenceFile>& files,
                                    const std::vector<std::string>& gone = {});

/// Makes the folder and marks it, as put_evidence() would: for work that takes long and must not find out at its end
/// that there is no place for what it found. Or why not.
std::optional<Failure> claim_folder(const std::string& folder);

/// A file of the evidence that is too long to be kept in memory: written as a stream under another name in the folder,
/// which is claimed for it. Gone at the end of its life, or of the program by Ctrl-C, unless put_evidence() has put it
/// in its place; what a killed program leaves is removed by the next one that writes a file of that name.
class StagedFile final : public sim::ByteSink {
  public:
    /// `name`: the one that it will have.
    static proto::Result<std::unique_ptr<StagedFile>, Failure> create(const std::string& folder,
                                                                      const std::string& name);
    StagedFile(const StagedFile&) = delete;
    StagedFile& operator=(const StagedFile&) = delete;
    ~StagedFile();

    bool write(std::span<const std::uint8_t> bytes) override;
    bool overwrite(std::uint64_t at, std::span<const std::uint8_t> bytes) override;
    /// Everything is on the disk, or why not.
    [[nodiscard]] std::optional<Failure> sync();
    [[nodiscard]] EvidenceFile evidence() const;

  private:
    StagedFile(std::string name, std::string path, int descriptor);
    bool write_at(std::uint64_t at, std::span<const std::uint8_t> bytes);
    const std::string name_, path_;
    const RemoveOnInterrupt on_interrupt_;
    int descriptor_;
    int error_ = 0;  ///< the first of write()
    std::uint64_t size_ = 0;
};

/// NAME.json of a command's result, and NAME.txt with its page, if a folder was asked for: several commands may share
/// one, which linkdrill report then gathers. Of one of a cell's links NAME_LINK.json, so that each link keeps its own.
std::optional<Failure> keep_if_asked(const std::optional<std::string>& folder, const std::string& name,
                                     const Value& document, const std::optional<Page>& page);

/// The file that marks a folder as linkdrill's.
inline constexpr const char* evidence_mark = ".linkdrill";

}  // namespace tools
