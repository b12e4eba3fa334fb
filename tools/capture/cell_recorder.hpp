#pragma once
// Listens to every link of a cell and puts their telegrams into one capture, in the order of time: the links are moved
// one after the other, each up to the controller's next scan, and so told.
#include <cstdint>
#include <deque>
#include <memory>
#include <variant>
#include <vector>

#include "sim/judge/telegram_trace.hpp"
#include "tools/capture/capture_file.hpp"
#include "tools/capture/capture_recorder.hpp"

namespace sim {
struct WholeCell;
}

namespace tools {

class CellRecorder {
  public:
    /// Cell and file must outlive it. The file has the cell's links in their order.
    CellRecorder(const sim::WholeCell& cell, CaptureFile& file);
    CellRecorder(const CellRecorder&) = delete;
    CellRecorder& operator=(const CellRecorder&) = delete;
    ~CellRecorder() = default;

    /// Whom that link tells.
    [[nodiscard]] sim::TelegramTrace& trace(std::size_t link) { return *links_[link]; }
    /// The run is over: what waits is waited for no more.
    void finish();

  private:
    using Fact = std::variant<sim::Sent, sim::Befell, sim::Delivered, sim::Unheard, sim::Concluded>;
    struct Told {
        sim::Instant at{};
        Fact fact;
        std::vector<std::uint8_t> bytes;  ///< of those that have some
    };
    class Link final : public sim::TelegramTrace {
      public:
        Link(CellRecorder& all, const sim::Scenario& scenario, CaptureFile& file, std::size_t place)
            : recorder(scenario, documentation_sockets(place), file, place), all_(all) {}
        void sent(const sim::Sent& fact) override { tell(fact.at, fact, fact.bytes); }
        void befell(const sim::Befell& fact) override { tell(fact.at, fact, {}); }
        void delivered(const sim::Delivered& fact) override { tell(fact.at, fact, fact.bytes); }
        void unheard(const sim::Unheard& fact) override { tell(heard_last, fact, {}); }
        void concluded(const sim::Concluded& fact) override { tell(fact.at, fact, {}); }
        [[nodiscard]] bool full() const override { return recorder.full(); }

        CaptureRecorder recorder;
        std::deque<Told> waiting;
        sim::Instant heard_last{};

      private:
        void tell(sim::Instant at, const Fact& fact, std::span<const std::uint8_t> bytes);
        CellRecorder& all_;
    };
    void pass_on(sim::Instant until);
    void pass_on_what_is_complete();

    std::vector<std::unique_ptr<Link>> links_;
};

}  // namespace tools
