#pragma once
// What the chain of a polled link remembers from cycle to cycle, packed into one word.
#include <cstdint>

namespace sim {

/// All times count from the current cycle's scan of the controller: slots are scans of the device after it, from 1;
/// scans are those of the controller after it, from 1; 0 is past.
struct PolledState {
    /// Bits of a state's word, in the order of its fields.
    static constexpr unsigned age_bits = 11, slot_bits = 10, scan_bits = 8, deadline_bits = 14;
    static constexpr unsigned most(unsigned bits) { return (1U << bits) - 1; }
    static constexpr unsigned no_answer = (1U << scan_bits) - 1;

    unsigned age = 0;        ///< cycles since the controller's last acceptance
    unsigned last_slot = 0;  ///< in which the last telegram is found at the device, 0: no later one waits for it
    unsigned last_scan = 0;  ///< before which no later answer is found
    unsigned same_slot = 0;  ///< scan that finds the first answer sent in `last_slot`, 0: none; no_answer: the only
                             ///< one of that slot is lost
    unsigned answer = 0;     ///< scan that finds the answer waited for; 0: the device has not got the number;
                             ///< no_answer: it has, and no answer to it is on its way
    unsigned deadline = 0;   ///< last slot in which the device may find the next number
    bool bad_out = false, bad_back = false;  ///< burst losses

    static PolledState of(std::uint64_t word) {
        const auto take = [&word](unsigned bits) {
            const auto part = static_cast<unsigned>(word & most(bits));
            word >>= bits;
            return part;
        };
        PolledState s;
        s.age = take(age_bits);
        s.last_slot = take(slot_bits);
        s.last_scan = take(scan_bits);
        s.same_slot = take(scan_bits);
        s.answer = take(scan_bits);
        s.deadline = take(deadline_bits);
        s.bad_out = take(1) != 0;
        s.bad_back = take(1) != 0;
        return s;
    }
    [[nodiscard]] std::uint64_t word() const {
        std::uint64_t word = bad_back ? 1 : 0;
        const auto put = [&word](unsigned value, unsigned bits) { word = word << bits | value; };
        put(bad_out ? 1 : 0, 1);
        put(deadline, deadline_bits);
        put(answer, scan_bits);
        put(same_slot, scan_bits);
        put(last_scan, scan_bits);
        put(last_slot, slot_bits);
        put(age, age_bits);
        return word;
    }
};
static_assert(PolledState::age_bits + PolledState::slot_bits + 3 * PolledState::scan_bits + PolledState::deadline_bits +
                  2 <=
              64);

}  // namespace sim
