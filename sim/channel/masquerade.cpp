// Masquerade: non-safety traffic that looks like a telegram of the link: right length, addresses and number, other
// payload, but not the link's integrity system.
#include <algorithm>
#include <span>

#include "proto/contract.hpp"
#include "proto/crc_catalogue.hpp"
#include "sim/channel/triggered_stage.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

namespace {

proto::CrcEngine engine_of(const char* name) {
    const proto::NamedCrc* crc = proto::find_crc(name);
    proto::require(crc != nullptr, "the catalogue lacks a CRC");
    auto engine = proto::CrcEngine::make(crc->spec);
    return engine.value();
}

/// The integrity system of somebody else: as the context says, else CRC-16/ARC, or another where that is the link's
/// own.
proto::CrcEngine foreign_crc(const Wire& wire, const StageContext& context) {
    if (context.other_traffic_crc) return proto::CrcEngine::make(*context.other_traffic_crc).value();
    // made once: a campaign makes a stage in every trial
    static const proto::CrcEngine arc = engine_of("CRC-16/ARC"), other = engine_of("CRC-16/IBM-3740");
    return wire.profile.crc == arc.spec() ? other : arc;
}

class Masquerade final : public TriggeredStage {
  public:
    Masquerade(const Fault& fault, std::size_t index, const StageContext& context)
        : TriggeredStage(fault, index, context),
          foreign_{foreign_crc(context.wires[0], context), foreign_crc(context.wires[1], context)} {}

  private:
    Pass act(const Case& c) override {
        const Direction direction = c.passage.tag.direction;
        Telegram forged;
        forged.assign(c.telegram.view());
        if (fault().way == FaultWay::all_zero) {
            std::fill(forged.view().begin(), forged.view().end(), std::uint8_t{0});
        } else {
            // Only a process telegram of full length has the fields that are to look right.
            const Wire& wire = context().wire(direction);
            if (c.passage.tag.parameter || forged.size != wire.layout.total_bytes) return Pass::deliver;
            forge(forged, wire, foreign_[static_cast<std::size_t>(direction)]);
        }
        Tag tag = c.passage.tag;
        tag.forged = true;
        tag.altered = false;
        send_beside(c, forged, tag, receiver(direction));
        return Pass::deliver;
    }

    void forge(Telegram& forged, const Wire& wire, const proto::CrcEngine& foreign) {
        const proto::Layout& layout = wire.layout;
        const std::span<std::uint8_t> copy = forged.view().first(layout.copy_bytes);
        forge_payload(copy.subspan(layout.header_bytes, layout.payload_bytes));
        const std::size_t covered = layout.header_bytes + layout.payload_bytes;
        const std::uint64_t value = foreign.over(copy.first(covered));
        write_crc(copy.subspan(covered), wire, fault().way == FaultWay::no_crc ? 0 : widened(value, foreign));
        if (wire.profile.copies == 2) {
            const std::span<std::uint8_t> second = forged.view().subspan(layout.copy_bytes);
            std::transform(copy.begin(), copy.end(), second.begin(),
                           [](std::uint8_t byte) { return static_cast<std::uint8_t>(~byte); });
        }
    }

    /// Other values: each byte by lot, and the first never as it was.
    void forge_payload(std::span<std::uint8_t> payload) {
        for (std::size_t i = 0; i < payload.size(); ++i) {
            const std::uint64_t change = i == 0 ? 1 + draw_below(255) : draw_below(256);
            payload[i] = static_cast<std::uint8_t>(payload[i] ^ change);
        }
    }

    /// A 16-bit value is repeated, to fill whatever width the link's CRC has.
    static std::uint64_t widened(std::uint64_t value, const proto::CrcEngine& foreign) {
        return foreign.spec().width == 16 ? value * 0x0001'0001'0001'0001ULL : value;
    }

    /// Cut to the width of the link's CRC, and in its byte order.
    static void write_crc(std::span<std::uint8_t> field, const Wire& wire, std::uint64_t value) {
        if (!wire.profile.crc) return;
        const proto::CrcSpec& spec = *wire.profile.crc;
        std::uint64_t wide = value;
        if (spec.width < 64) wide &= (std::uint64_t{1} << spec.width) - 1;
        for (std::size_t i = 0; i < field.size(); ++i) {
            const std::size_t place = spec.reflect_out ? i : field.size() - 1 - i;
            field[i] = static_cast<std::uint8_t>(wide >> (place * 8));
        }
    }

    const std::array<proto::CrcEngine, 2> foreign_;
};

}  // namespace

std::unique_ptr<FaultStage> make_masquerade(const Fault& fault, std::size_t index, const StageContext& context) {
    return std::make_unique<Masquerade>(fault, index, context);
}

}  // namespace sim
