#pragma once
// The capture that `run` leaves in the folder of its evidence.
#include <cstdint>
#include <memory>
#include <string>

#include "sim/drive/join.hpp"
#include "sim/judge/result.hpp"
#include "tools/capture/capture_file.hpp"
#include "tools/capture/capture_recorder.hpp"
#include "tools/capture/cell_recorder.hpp"
#include "tools/program/arguments.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
struct WholeCell;
}  // namespace sim

namespace tools {

inline constexpr const char* capture_name = "capture.pcapng";

/// --capture N
OptionSpec capture_option();
/// Most telegrams in the capture; 0: none is wanted.
proto::Result<std::uint64_t, Failure> capture_most(const Arguments& arguments);

class RunCapture {
  public:
    /// Of a run in virtual time. Claims the folder. The scenario must outlive it.
    static proto::Result<std::unique_ptr<RunCapture>, Failure> begin(const std::string& folder,
                                                                     const sim::Scenario& scenario, std::uint64_t seed,
                                                                     std::uint64_t most);
    /// Of a live run, from what its channel saw. Requires sockets of one kind.
    static proto::Result<std::unique_ptr<RunCapture>, Failure> begin_live(const std::string& folder,
                                                                          const sim::Scenario& scenario,
                                                                          std::uint64_t seed, std::uint64_t most,
                                                                          const sim::PartRecord& channel);
    /// Of all links of a cell. Claims the folder. The cell must outlive it.
    static proto::Result<std::unique_ptr<RunCapture>, Failure> begin_cell(const std::string& folder,
                                                                          const sim::WholeCell& cell,
                                                                          std::uint64_t seed, std::uint64_t most);
    /// Requires one link.
    [[nodiscard]] sim::TelegramTrace& trace() { return *recorder_; }
    /// Requires a cell.
    [[nodiscard]] sim::TelegramTrace& trace(std::size_t link) { return cell_->trace(link); }
    /// Everything is on the disk, or why not. `digest`: of the run.
    [[nodiscard]] std::optional<Failure> finish(std::uint64_t digest);
    [[nodiscard]] EvidenceFile evidence() const { return file_->evidence(); }
    [[nodiscard]] const CaptureSummary& summary() const { return capture_.summary(); }
    /// What a reader must know about it: a sentence, or nothing. `duration`: of the run.
    [[nodiscard]] std::string remark(sim::Duration duration) const;

  private:
    static proto::Result<std::unique_ptr<RunCapture>, Failure> begin_as(const std::string& folder,
                                                                        const sim::Scenario& scenario,
                                                                        const sim::CaptureSettings& settings,
                                                                        const CaptureSockets& sockets,
                                                                        std::uint64_t most);
    RunCapture(std::unique_ptr<StagedFile> file, const std::vector<sim::CaptureSettings>& links, int link_type,
               std::uint64_t most);
    std::unique_ptr<StagedFile> file_;
    CaptureFile capture_;
    // one of both
    std::optional<CaptureRecorder> recorder_;
    std::unique_ptr<CellRecorder> cell_;
};

/// The document of a run with the key "capture" at its end.
Value with_capture(const Value& document, const CaptureSummary& summary);

}  // namespace tools
