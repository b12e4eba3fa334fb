#pragma once
// What people do at a bench while it runs, act by act.
#include <cstddef>

#include "sim/training/bench_cell.hpp"

namespace sim {

class Hand {
  public:
    /// The cell must outlive it.
    explicit Hand(BenchCell& cell) : cell_(cell) {}

    /// The operator's acknowledgement contact.
    void set_acknowledge(proto::Endpoint::Contact contact) {
        cell_.link().end(End::controller).endpoint().set_acknowledge(contact, cell_.clock_of(End::controller));
    }
    /// A demand on that safeguard begins, or ends, at its sensor. Each end belongs to a begin.
    void demand(std::size_t safeguard) { cell_.acts().note_by_hand(Agenda::Kind::hand_in, safeguard); }
    void release(std::size_t safeguard) { cell_.acts().note_by_hand(Agenda::Kind::hand_out, safeguard); }
    void reset(std::size_t safeguard) { cell_.acts().note_by_hand(Agenda::Kind::safeguard_reset, safeguard); }
    /// Emergency stop or isolation of the machine, pressed or locked, or ended again, which starts nothing: a stop of
    /// category 0 past the link and its signals.
    void hold_machine(MachineModel::Hold what, bool on) {
        if (cell_.plant().machine() == nullptr) return;
        cell_.plant().hold_machine(what, on);
        cell_.drive_again();
    }
    /// False if it still is not started.
    bool start_machine() { return cell_.try_to_start_machine(); }

  private:
    BenchCell& cell_;
};

}  // namespace sim
