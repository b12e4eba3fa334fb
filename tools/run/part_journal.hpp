#pragma once
// The file of a part of a live run while it runs: what is seen is in it at once, so that whoever ends the part at any
// moment, and starts it anew, finds the run going on.
#include <cstddef>
#include <limits>
#include <memory>
#include <optional>
#include <string>

#include "proto/result.hpp"
#include "sim/live/live.hpp"
#include "tools/program/failure.hpp"
#include "tools/run/part_file.hpp"

namespace tools {

class PartJournalFile final : public sim::PartJournal {
  public:
    /// In a folder that was claimed. What an earlier start of this part left there is taken up if its run still goes
    /// on: it is not over by its time, and the other parts, as far as their files are here, are at work in it. Else it
    /// is written over. A part of a cell never goes on with a run: what it left is written over, and earlier() tells of
    /// it. Fails if another program is this part here, or the file cannot be written.
    static proto::Result<std::unique_ptr<PartJournalFile>, Failure> open(const std::string& folder, const PartOf& of,
                                                                         const sim::Scenario& scenario, sim::Part part);
    PartJournalFile(const PartJournalFile&) = delete;
    PartJournalFile& operator=(const PartJournalFile&) = delete;
    ~PartJournalFile() override;

    /// The run that was taken up; of a cell, that this part was ended in and that still lasts.
    [[nodiscard]] const std::optional<sim::EarlierStart>& earlier() const { return earlier_; }
    /// The run began, now or in an earlier start.
    [[nodiscard]] bool begun() const { return begun_; }
    /// Why nothing more could be kept; 0 as long as it can.
    [[nodiscard]] int error() const { return error_; }

    bool begin(const sim::PartRecord& record) override;
    bool keep(sim::PartRecord& record, proto::Instant alive, std::uint64_t scans) override;
    /// The part's run is over; what the journal has not had yet is in `record`. Everything is on the disk afterwards.
    std::optional<Failure> finish(sim::PartRecord& record);

  private:
    PartJournalFile(std::string path, int descriptor, PartOf of, sim::Part part);
    bool write_at(std::size_t at, const std::string& text);
    std::optional<Failure> take_up(const std::string& folder, const sim::Scenario& scenario);
    std::optional<Failure> begin_anew();

    std::string path_;
    int descriptor_;
    PartOf of_;
    sim::Part part_;
    std::size_t size_ = 0;
    int error_ = 0;
    bool begun_ = false;
    std::optional<sim::EarlierStart> earlier_;
};

/// A file's text, so many bytes of it at most; nothing if it cannot be read.
std::optional<std::string> content_of(const std::string& path,
                                      std::size_t most = std::numeric_limits<std::size_t>::max());

/// Whether a record is over, by its end alone: while another part still writes it nobody reads it all.
bool seems_whole(const std::string& path);

}  // namespace tools
