#include "proto/endpoint.hpp"

#include <algorithm>

#include "proto/endpoint_core.hpp"

namespace proto {

std::string_view name_of(State state) {
    switch (state) {
        case State::start_up: return "start-up";
        case State::running: return "running";
        case State::safe_state: return "safe state";
        case State::awaiting_acknowledgement: return "awaiting acknowledgement";
    }
    return "?";
}

std::string_view name_of(Cause cause) {
    switch (cause) {
        case Cause::power_up: return "power on";
        case Cause::first_value: return "first value";
        case Cause::time_expectation: return "no good telegram in time";
        case Cause::rejected_telegram: return "telegram rejected";
        case Cause::told_by_peer: return "the other end stopped";
        case Cause::peer_restarted: return "the other end restarted";
        case Cause::error_free_again: return "free of errors again";
        case Cause::errors_again: return "errors again";
        case Cause::acknowledged: return "acknowledged";
        case Cause::start_failed: return "no value after the start";
    }
    return "?";
}

std::optional<CrcEngine> Endpoint::tables_for(const LinkSettings& settings, const std::optional<CrcEngine>& tables) {
    if (!settings.profile.crc) return std::nullopt;
    std::optional<CrcEngine> crc;
    crc = tables && tables->spec() == *settings.profile.crc ? *tables : CrcEngine::make(*settings.profile.crc).value();
    crc->know_differences({Codec::differing_bytes(settings.profile, settings.payload_sent),
                           Codec::differing_bytes(settings.profile, settings.payload_received)});
    return crc;
}

Result<Endpoint, SettingsError> Endpoint::make(const LinkSettings& settings, EventSink& sink, ProfileUse use,
                                               const std::optional<CrcEngine>& tables) {
    if (const auto fault = fault_in(settings, use)) return *fault;
    return Endpoint(std::make_unique<Core>(settings, tables_for(settings, tables), sink));
}

Endpoint::Endpoint(std::unique_ptr<Core> core) : core_(std::move(core)), glance_(core_.get()) {}
Endpoint::Endpoint(Endpoint&&) noexcept = default;
Endpoint& Endpoint::operator=(Endpoint&&) noexcept = default;
Endpoint::~Endpoint() = default;

void Endpoint::start(Instant now, Duration phase, std::uint64_t entropy) { core_->start(now, phase, entropy); }
std::span<std::uint8_t> Endpoint::output() { return {core_->output_.data(), core_->settings_.payload_sent}; }
void Endpoint::set_acknowledge(Contact level, Instant now) { core_->set_acknowledge(level, now); }
const Counters& Endpoint::counters() const { return core_->counters_; }
const LinkSettings& Endpoint::settings() const { return core_->settings_; }
std::uint32_t Endpoint::connections() const { return core_->connections_; }
Refusal Endpoint::refusal() const { return core_->refusal_; }

std::span<const std::uint8_t> Endpoint::input() const {
    // nothing but substitute values unless running
    static constexpr std::array<std::uint8_t, payload_bytes_max> substitute{};
    const std::uint8_t* const from = core_->state_ == State::running ? core_->input_.data() : substitute.data();
    return {from, core_->settings_.payload_received};
}

bool Endpoint::acknowledgement_requested() const {
    return core_->settings_.end == End::controller && core_->state_ == State::awaiting_acknowledgement;
}

std::optional<std::uint64_t> Endpoint::standing(Instant now) const { return core_->standing(now); }
std::optional<std::uint64_t> Endpoint::standing_of(std::span<const std::uint8_t> bytes, Instant now) const {
    return core_->standing_of(bytes, now);
}
void Endpoint::skip(std::uint64_t periods, const QuietPeriod& period) { core_->skip(periods, period); }
void Endpoint::skip_on_the_way(std::span<std::uint8_t, telegram_bytes_max> room, std::size_t bytes,
                               std::uint64_t periods, const QuietPeriod& period) const {
    core_->skip_on_the_way(room, bytes, periods, period);
}

std::optional<Instant> Endpoint::last_sign_of_life() const {
    if (!core_->watchdog_.armed()) return std::nullopt;
    return core_->watchdog_.last();
}

}  // namespace proto
