#include "sim/link/world.hpp"

#include <algorithm>
#include <utility>

#include "sim/judge/run_result.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

constexpr Duration press_lasts = proto::milliseconds(200);  ///< common practice: a button is held about so long
constexpr Duration calm_press_after = proto::milliseconds(50);

Wire wire_of(const proto::LinkSettings& sender, proto::ProfileUse use) {
    const auto layout = proto::layout_of(sender.profile, sender.payload_sent, use);
    proto::require(layout.ok(), "a wire of an impossible profile");
    return {sender.profile, layout.value(), proto::places_of(sender.profile, sender.payload_sent)};
}

std::optional<proto::CrcEngine> engine_of(const proto::Profile& profile) {
    if (!profile.crc) return std::nullopt;
    return proto::CrcEngine::make(*profile.crc).value();
}

/// The neighbour's end: set like the controller of this link, with its own addresses.
proto::LinkSettings neighbour_settings(const Scenario& scenario, End end) {
    proto::LinkSettings settings = scenario.controller.link;
    settings.own_address = scenario.neighbour->controller_address;
    settings.peer_address = scenario.neighbour->device_address;
    if (end == End::controller) return settings;
    settings.end = End::device;
    std::swap(settings.own_address, settings.peer_address);
    std::swap(settings.payload_sent, settings.payload_received);
    std::swap(settings.bits_sent, settings.bits_received);
    std::swap(settings.watchdog, settings.peer_watchdog);
    settings.scan = scenario.device.link.scan;
    return settings;
}

bool needs_neighbour(const Scenario& scenario) {
    return scenario.neighbour && std::any_of(scenario.faults.begin(), scenario.faults.end(), [](const Fault& fault) {
               return fault.way == FaultWay::neighbour || fault.way == FaultWay::swap;
           });
}

}  // namespace

World::World(const Scenario& scenario, std::uint64_t seed, WithFaults faults, const Limits& limits)
    : scenario_(scenario),
      observer_(scenario, limits),
      seed_(seed),
      channel_(scenario.to_device, scenario.to_controller, seed),
      tables_(engine_of(scenario.controller.link.profile)),
      controller_(scenario.controller.link, 0, *this, tables_, scenario.use),
      device_(scenario.device.link, 0, *this, tables_, scenario.use),
      controller_application_(scenario, End::controller),
      device_application_(scenario, End::device) {
    if (scenario.machine) {
        machine_.emplace(*scenario.machine);
        output_end_ = scenario.machine->at;
        for (const MachineReaction& reaction : scenario.machine->reactions)
            for (std::size_t i = 0; i < scenario.signals.size(); ++i)
                if (scenario.signals[i].name == reaction.signal) reactions_ |= std::uint64_t{1} << i;
    }
    stages_.wires = {wire_of(scenario.controller.link, scenario.use), wire_of(scenario.device.link, scenario.use)};
    stages_.other_traffic_crc = scenario.other_traffic_crc;
    stages_.log = &teller_;
    stages_.surroundings = this;
    for (const Safeguard& safeguard : scenario.safeguards) safeguard_models_.emplace_back(safeguard);
    begin(faults);
}

void World::begin_again(std::uint64_t seed, WithFaults faults, const Limits& limits) {
    proto::require(carrier_ == nullptr, "World::begin_again() of a part of a world");
    seed_ = seed;
    observer_.begin_again(limits);
    channel_.begin_again(scenario_.to_device, scenario_.to_controller, seed);
    if (machine_) machine_->begin_again();
    if (neighbour_controller_) {
        idle_neighbour_controller_ = std::move(neighbour_controller_);
        idle_neighbour_device_ = std::move(neighbour_device_);
    }
    for (std::size_t i = 0; i < safeguard_models_.size(); ++i)
        safeguard_models_[i] = SafeguardModel(scenario_.safeguards[i]);
    failing_.reset();
    tell(nullptr);
    sides_ = {};
    waiting_.clear();
    safe_states_ = acknowledgements_ = 0;
    safeguards_ = ~std::uint64_t{0};
    timers_.clear();
    timer_order_ = 0;
    next_timer_ = next_neighbour_ = proto::never;
    instances_ = {};
    connections_ = {};
    were_running_ = calm_ = moved_by_itself_ = false;
    cycles_ = 0;
    now_ = {};
    begin(faults);
}

void World::begin(WithFaults faults) {
    if (needs_neighbour(scenario_) || (faults == WithFaults::by_hand && scenario_.neighbour)) {
        const auto make = [this](std::unique_ptr<EndOfLink>& idle, End end) {
            if (idle) return std::move(idle);
            return std::make_unique<EndOfLink>(neighbour_settings(scenario_, end), std::uint8_t{1}, *this, tables_,
                                               scenario_.use);
        };
        neighbour_controller_ = make(idle_neighbour_controller_, End::controller);
        neighbour_device_ = make(idle_neighbour_device_, End::device);
    }
    stages_.neighbour = neighbour_controller_ != nullptr;
    stages_.seed = seed_;
    if (faults == WithFaults::by_hand ||
        (faults != WithFaults::no && std::any_of(scenario_.faults.begin(), scenario_.faults.end(), needs_history)))
        channel_.keep_history();
    if (faults == WithFaults::yes || faults == WithFaults::by_hand) {
        stages_.strays = earlier_start(scenario_, seed_);
        put_in_faults();
    }
    put_in_demands();
    operate(OperatorAct::Event::time, 0, {});
    start_ends(seed_, {});
}

void World::put_in_faults_and_demands() {
    put_in_faults();
    put_in_demands();
}

void World::put_in_faults() {
    for (std::size_t i = 0; i < scenario_.faults.size(); ++i) put_in_fault(i);
    know_who_looks_on();
}

void World::put_in_fault(std::size_t index) {
    const Fault& fault = scenario_.faults[index];
    if (!fault.at_end) {
        channel_.add(make_stage(fault, index, stages_));
        return;
    }
    if (!failing_) failing_ = std::make_unique<std::array<FailingEnd, 2>>();
    know_who_looks_on();
    at(Instant{} + *fault.at, TimerKind::end_fails, 0, index);
    // one that ends as another begins must end first, so this stands here where it can
    if (fault.lasting && !fault.when.any()) at(Instant{} + *fault.at + *fault.lasting, TimerKind::end_mends, 0, index);
}

void World::put_in_demands() {
    for (std::size_t i = 0; i < scenario_.demands.size(); ++i) {
        const Demand& demand = scenario_.demands[i];
        const auto guard = std::find_if(scenario_.safeguards.begin(), scenario_.safeguards.end(),
                                        [&](const Safeguard& g) { return g.name == demand.safeguard; });
        proto::require(guard != scenario_.safeguards.end(), "a demand on an unknown safeguard");
        const auto index = static_cast<std::size_t>(guard - scenario_.safeguards.begin());
        safeguard_users_[index] = signals_depending_on(scenario_, index);
        // a demand shorter than an exchange would vanish without any fault; who types a shorter one wants that
        const bool typed = guard->minimum_hold != Duration{};
        const Duration hold = std::max(demand.lasting, typed ? guard->minimum_hold : least_hold(scenario_, guard->at));
        const Instant contact = Instant{} + demand.at + guard->delay;
        at(contact, TimerKind::demand_begins, 0, i);
        at(contact + hold, TimerKind::demand_ends, 0, i);
    }
}

std::int64_t World::machine_position(Instant now) const { return machine_ ? machine_->position(now) : 0; }

std::uint64_t World::happened(FaultCondition::Event event, Instant now) const {
    switch (event) {
        case FaultCondition::Event::safe_state: return safe_states_;
        case FaultCondition::Event::acknowledged: return acknowledgements_;
        case FaultCondition::Event::machine_still: return machine_ ? machine_->standstills(now) : 0;
    }
    return 0;
}

bool World::link_runs() const {
    // a part on its own knows only its own end; the other end's stop reaches it as a stop of its own
    const auto runs = [](const EndOfLink& end) { return end.endpoint().state() == proto::State::running; };
    return (!parts_.controller || runs(controller_)) && (!parts_.device || runs(device_));
}

EndOfLink& World::end_of(std::uint8_t link, End end) {
    if (link == 0) return end == End::controller ? controller_ : device_;
    return end == End::controller ? *neighbour_controller_ : *neighbour_device_;
}

void World::at(Instant when, TimerKind kind, std::uint8_t link, std::size_t index) {
    const Timer timer{when, timer_order_++, kind, link, index};
    const auto later = [](const Timer& a, const Timer& b) { return a.at != b.at ? a.at > b.at : a.order > b.order; };
    timers_.insert(std::upper_bound(timers_.begin(), timers_.end(), timer, later), timer);
    next_timer_ = timers_.back().at;
}

template <End from>
[[gnu::always_inline]] inline void World::transmit(EndOfLink& end, std::uint8_t link, std::uint64_t signals,
                                                   Instant now) {
    constexpr Direction direction = from == End::controller ? Direction::to_device : Direction::to_controller;
    std::uint64_t& instance = instances_[lane_of(link, direction)];
    while (end.endpoint().may_send()) {
        Telegram& telegram = channel_.slot();
        const proto::Transmission made = end.endpoint().poll_transmit(
            link == 0 ? local(from, now) : now, std::span<std::uint8_t, proto::telegram_bytes_max>(telegram.bytes));
        if (made.kind == proto::Transmission::Kind::none) return;
        telegram.size = static_cast<std::uint16_t>(made.bytes);
        if (link == 0)
            instance = teller_.sent(direction, made.kind, instance, signals, telegram.view(), now);
        else if (made.kind == proto::Transmission::Kind::fresh)
            ++instance;
        if (__builtin_expect(aside_ && link == 0, 0) && hand_aside(from, telegram.view(), instance, now)) continue;
        channel_.offer(telegram,
                       Tag::genuine(instance, link, direction, made.kind == proto::Transmission::Kind::parameter), now);
    }
}

[[gnu::noinline]] bool World::hand_aside(End from, std::span<const std::uint8_t> bytes, std::uint64_t instance,
                                         Instant now) {
    if (onlooker_ != nullptr) {
        onlooker_->sent(from, bytes, instance, now);
        return false;
    }
    if (carrier_ != nullptr) {
        carrier_->carry(from, bytes, now);
        return true;
    }
    trace_->sent(from == End::controller ? Direction::to_device : Direction::to_controller, bytes, now);
    return false;
}

template <End which>
void World::scan(Instant now) {
    EndOfLink& end = which == End::controller ? controller_ : device_;
    Side& s = side(which);
    proto::Endpoint& endpoint = end.endpoint();
    endpoint.on_deadline(local(which, now));
    if (const FailingEnd* f = failing(which); __builtin_expect(f != nullptr, 0)) {
        if (onlooker_ != nullptr) onlooker_->scanned(which, now);
        if (f->frozen && endpoint.state() == proto::State::running) {
            read_frozen(end, now);
            return;
        }
    }
    if (__builtin_expect(s.stale || endpoint.input_revision() != s.revision, 0)) {
        s.stale = false;
        s.revision = endpoint.input_revision();
        const Application& application = which == End::controller ? controller_application_ : device_application_;
        const std::uint64_t received = application.read(endpoint.input());
        s.used = received;
        s.sent = application.evaluate(received, safeguards_);
        application.write(s.sent, endpoint.output());
        if (which == output_end_) drive(s.used, now);
    }
    if (s.told) {
        s.told = false;
        teller_.in_use(which, s.used, now);
    }
    if (__builtin_expect(observer_.demand_open(), 0) && which == output_end_) observer_.output(s.used, now);
    transmit<which>(end, 0, endpoint.state() == proto::State::running ? s.sent : 0, now);
}

[[gnu::noinline]] Instant World::failing_deadline(End end, Instant own) const {
    return (*failing_)[static_cast<std::size_t>(end)].deadline(own);
}

[[gnu::noinline]] Instant World::drifting(End end, Instant now) const {
    return (*failing_)[static_cast<std::size_t>(end)].clock.local(now);
}

void World::run_until(Instant end) {
    Instant next_controller = deadline(controller_);
    Instant next_device = deadline(device_);
    for (;;) {
        const Instant due = channel_.next_due();
        const Instant scan_due = std::min(next_controller, next_device);
        const Instant other_due = std::min(next_timer_, next_neighbour_);
        const Instant now = std::min({due, scan_due, other_due});
        if (now >= end) break;
        now_ = now;
        // of things at the same instant: what people do, then arrivals, then scans, the device's first
        if (__builtin_expect(other_due == now, 0)) {
            if (next_timer_ == now) {
                const Timer timer = timers_.back();
                timers_.pop_back();
                next_timer_ = timers_.empty() ? proto::never : timers_.back().at;
                fire(timer, now);
                if (failing_) {
                    next_controller = deadline(controller_);
                    next_device = deadline(device_);
                }
                continue;
            }
            EndOfLink& first =
                neighbour_device_->endpoint().next_deadline() <= now ? *neighbour_device_ : *neighbour_controller_;
            if (first.endpoint().next_deadline() <= now) scan_neighbour(first, now);
            next_neighbour_ = std::min(neighbour_device_->endpoint().next_deadline(),
                                       neighbour_controller_->endpoint().next_deadline());
        } else if (due == now) {
            deliver();
        } else if (next_device == now) {
            scan<End::device>(now);
            next_device = deadline(device_);
        } else {
            ++cycles_;
            scan<End::controller>(now);
            next_controller = deadline(controller_);
        }
    }
    now_ = std::max(now_, end);
}

void World::deliver() {
    if (__builtin_expect(specially_, 0)) return deliver_specially();
    const Channel::Delivery delivery = channel_.take();
    if (delivery.passage.to_link == 0 || neighbour_controller_ != nullptr)
        end_of(delivery.passage.to_link, delivery.passage.to_end)
            .endpoint()
            .receive(delivery.telegram->view(), delivery.passage.tag.token());
    channel_.release(delivery);
}

[[gnu::noinline]] void World::deliver_specially() {
    const Channel::Delivery delivery = channel_.take();
    const Passage& passage = delivery.passage;
    const std::span<const std::uint8_t> bytes = delivery.telegram->view();
    if (passage.to_link != 0) {
        if (neighbour_controller_ != nullptr)
            end_of(passage.to_link, passage.to_end).endpoint().receive(bytes, passage.tag.token());
        channel_.release(delivery);
        return;
    }
    proto::Endpoint& end = end_of(0, passage.to_end).endpoint();
    const FailingEnd* to = failing(passage.to_end);
    const bool off = to != nullptr && now_ < to->off_until;
    const std::uint64_t queue_full = end.counters().queue_full;
    if (!off) end.receive(bytes, passage.tag.token());
    if (onlooker_ != nullptr && !off) onlooker_->arrived(passage.to_end, bytes, passage.tag, now_);
    if (trace_ != nullptr) {
        trace_->delivered(passage.to_end, passage.tag, bytes, now_);
        if (off) trace_->unheard(passage.to_end, Unheard::power_off);
        if (end.counters().queue_full != queue_full) trace_->unheard(passage.to_end, Unheard::queue_full);
    }
    channel_.release(delivery);
    if (trace_ != nullptr && trace_->full()) tell(nullptr);
}

void World::tell(TelegramTrace* trace) {
    trace_ = trace;
    teller_.tell(trace);
    channel_.tell(trace != nullptr ? this : nullptr);
    know_who_looks_on();
}

void World::know_who_looks_on() {
    aside_ = carrier_ != nullptr || trace_ != nullptr || onlooker_ != nullptr;
    specially_ = failing_ != nullptr || trace_ != nullptr || onlooker_ != nullptr;
}

void World::befell(const Tag& tag, Fate fate) {
    if (tag.link != 0) return;
    if (trace_ != nullptr)
        trace_->befell(tag, fate);
    else
        log_->push_back({JudgeRecord::Kind::befell, static_cast<std::uint8_t>(tag.direction), now_, tag.token().value,
                         static_cast<std::uint64_t>(fate), 0});
}

/// What passed the channel of a live run: the log keeps its length, its bytes go elsewhere.
void World::note_at_channel(JudgeRecord record, std::span<const std::uint8_t> bytes) {
    record.a = identity_of_bytes(bytes);
    record.c = bytes.size();
    log_->push_back(record);
    if (kept_bytes_ != nullptr) kept_bytes_->insert(kept_bytes_->end(), bytes.begin(), bytes.end());
}

void World::start_ends(std::uint64_t seed, Instant now) {
    const Random entropy(seed, Concern::entropy);
    controller_.endpoint().start(now, {}, entropy.at(0));
    device_.endpoint().start(now, scenario_.device_phase, entropy.at(1));
    if (!neighbour_controller_) return;
    neighbour_controller_->endpoint().start(now, scenario_.controller.link.cycle - proto::microseconds(100),
                                            entropy.at(2));
    neighbour_device_->endpoint().start(now, scenario_.device_phase, entropy.at(3));
    next_neighbour_ = now;
}

void World::run_only(Parts parts, Carrier& carrier, JudgeLog& log, std::uint64_t entropy, Instant now) {
    for (const Fault& fault : scenario_.faults)
        proto::require(!fault.when.any(), "a fault's condition is known to a whole world only");
    parts_ = parts;
    carrier_ = &carrier;
    log_ = &log;
    know_who_looks_on();
    if (parts.channel) channel_.tell(this);
    teller_.write_to(log);
    now_ = now;
    start_ends(entropy, now);
}

Instant World::next_own_event() const {
    Instant next = next_timer_;
    if (parts_.controller) next = std::min(next, deadline(controller_));
    if (parts_.device) next = std::min(next, deadline(device_));
    if (parts_.channel) next = std::min(next, next_neighbour_);
    return next;
}

Duration World::run_due(Instant now) {
    now_ = now;
    Duration latest{};
    while (next_timer_ <= now) {
        const Timer timer = timers_.back();
        timers_.pop_back();
        next_timer_ = timers_.empty() ? proto::never : timers_.back().at;
        fire(timer, now);
    }
    const auto scan_if_due = [&](EndOfLink& end) {
        const Instant due = deadline(end);
        if (due > now) return;
        latest = std::max(latest, now - due);
        if (end.end() == End::controller) ++cycles_;
        end.end() == End::controller ? scan<End::controller>(now) : scan<End::device>(now);
    };
    if (parts_.device) scan_if_due(device_);
    if (parts_.controller) scan_if_due(controller_);
    if (parts_.channel && next_neighbour_ <= now) {
        for (EndOfLink* end : {neighbour_device_.get(), neighbour_controller_.get()})
            if (end->endpoint().next_deadline() <= now) scan_neighbour(*end, now);
        next_neighbour_ =
            std::min(neighbour_device_->endpoint().next_deadline(), neighbour_controller_->endpoint().next_deadline());
    }
    return latest;
}

void World::arrive(End end, std::span<const std::uint8_t> bytes) {
    if (const FailingEnd* to = failing(end); to != nullptr && now_ < to->off_until) return;
    end_of(0, end).endpoint().receive(bytes, {identity_of_bytes(bytes)});
}

void World::arrive_at_channel(Direction direction, std::span<const std::uint8_t> bytes, Instant now) {
    if (bytes.size() > proto::telegram_bytes_max) return;  // nothing that a safety layer sends
    Telegram& telegram = channel_.slot();
    telegram.assign(bytes);
    const bool parameter = proto::decode_parameters(bytes).has_value();
    now_ = now;
    note_at_channel({JudgeRecord::Kind::offered, static_cast<std::uint8_t>(direction), now, 0, ++offered_, 0}, bytes);
    channel_.offer(telegram, Tag::genuine(offered_, 0, direction, parameter), now);
}

std::optional<End> World::deliver_next(std::span<std::uint8_t, proto::telegram_bytes_max> out, std::size_t& size,
                                       Instant now) {
    const Channel::Delivery delivery = channel_.take();
    std::optional<End> to;
    const std::span<const std::uint8_t> bytes = delivery.telegram->view();
    if (delivery.passage.to_link == 0) {
        to = delivery.passage.to_end;
        size = bytes.size();
        std::copy(bytes.begin(), bytes.end(), out.begin());
        note_at_channel({JudgeRecord::Kind::delivered, static_cast<std::uint8_t>(*to), now, 0,
                         delivery.passage.tag.token().value, 0},
                        bytes);
    } else if (neighbour_controller_ != nullptr) {
        end_of(1, delivery.passage.to_end).endpoint().receive(bytes, delivery.passage.tag.token());
    }
    channel_.release(delivery);
    return to;
}

void World::transmit(EndOfLink& end, std::uint64_t signals, Instant now) {
    if (end.end() == End::controller)
        transmit<End::controller>(end, end.link(), signals, now);
    else
        transmit<End::device>(end, end.link(), signals, now);
}

void World::scan_neighbour(EndOfLink& end, Instant now) {
    proto::Endpoint& endpoint = end.endpoint();
    endpoint.on_deadline(now);
    // its signals all say "no demand": the most tempting values a stranger can bring
    const proto::BitUse& bits = endpoint.settings().bits_sent;
    const auto output = endpoint.output();
    std::copy_n(bits.begin(), output.size(), output.begin());
    transmit(end, 0, now);
}

void World::drive(std::uint64_t signals, Instant now) {
    if (!machine_) return;
    DriveCommand command = machine_->mildest();
    for (const MachineReaction& reaction : scenario_.machine->reactions)
        for (std::size_t i = 0; i < scenario_.signals.size(); ++i)
            if (scenario_.signals[i].name == reaction.signal && (signals >> i & 1) == 0)
                command = std::max(command, command_of(reaction.stop));
    if (command == machine_->command()) return;
    const std::int64_t speed_before = machine_->speed(now);
    machine_->command(command, now);
    if (machine_->speed(now) > speed_before) moved_by_itself_ = true;
    teller_.machine(command, now);
}

void World::fire(const Timer& timer, Instant now) {
    using Contact = proto::Endpoint::Contact;
    switch (timer.kind) {
        case TimerKind::demand_begins:
        case TimerKind::demand_ends: {
            if (calm_ && timer.kind == TimerKind::demand_begins) return;
            const Demand& demand = scenario_.demands[timer.index];
            for (std::size_t i = 0; i < scenario_.safeguards.size(); ++i) {
                if (scenario_.safeguards[i].name != demand.safeguard) continue;
                if (timer.kind == TimerKind::demand_begins) {
                    safeguard_models_[i].demand(demand.channel, now);
                    std::uint64_t users = safeguard_users_[i];
                    if (reactions_ != 0)
                        users &= reactions_;
                    else
                        users &= output_end_ == End::device ? device_application_.receives()
                                                            : controller_application_.receives();
                    if (users != 0) teller_.demanded(timer.index, users, now);
                    // an end that is off, or switched off, does not scan: its outputs are what they are
                    if (const FailingEnd* f = failing(output_end_); f != nullptr && now < f->still_until)
                        observer_.output(side(output_end_).used, now);
                } else {
                    safeguard_models_[i].release(demand.channel, now);
                }
                safeguard_changed(i);
            }
            return;
        }
        case TimerKind::press:
            end_of(timer.link, End::controller)
                .endpoint()
                .set_acknowledge(Contact::closed, timer.link == 0 ? local(End::controller, now) : now);
            return;
        case TimerKind::let_go:
            end_of(timer.link, End::controller)
                .endpoint()
                .set_acknowledge(Contact::open, timer.link == 0 ? local(End::controller, now) : now);
            return;
        case TimerKind::start_machine:
            if (!machine_ || !machine_->start(now)) return;
            teller_.machine(std::nullopt, now);
            for (const std::size_t fault : std::exchange(waiting_, {})) at(now, TimerKind::end_fails, 0, fault);
            return;
        case TimerKind::safeguard_check:
            safeguard_models_[timer.index].check(now);
            safeguard_changed(timer.index);
            return;
        case TimerKind::safeguard_reset:
            safeguard_models_[timer.index].reset();
            safeguard_changed(timer.index);
            return;
        case TimerKind::hand_in:
        case TimerKind::hand_out:
            if (timer.kind == TimerKind::hand_in)
                safeguard_models_[timer.index].demand(DemandChannel::both, now);
            else
                safeguard_models_[timer.index].release(DemandChannel::both, now);
            safeguard_changed(timer.index);
            return;
        case TimerKind::end_fails: begin_to_fail(timer.index, now); return;
        case TimerKind::end_mends: mend(timer.index, now); return;
        case TimerKind::output_watchdog:
            // it scanned again in the meantime, or not
            if (!calm_ && now < failing_end_of(output_end_).still_until) switch_off(output_end_, now);
            return;
    }
}

void World::be_watched(Onlooker& onlooker, JudgeLog& log) {
    proto::require(carrier_ == nullptr, "World::be_watched() of a part of a world");
    onlooker_ = &onlooker;
    log_ = &log;
    teller_.write_to(log);
    if (!failing_) failing_ = std::make_unique<std::array<FailingEnd, 2>>();
    know_who_looks_on();
}

void World::put_in(std::size_t fault) {
    proto::require(onlooker_ != nullptr && fault < scenario_.faults.size(), "World::put_in() of what is not there");
    put_in_fault(fault);
}

void World::take_out_faults() {
    channel_.remove_stages();
    const auto of_a_fault = [](const Timer& timer) {
        return timer.kind == TimerKind::end_fails || timer.kind == TimerKind::end_mends;
    };
    timers_.erase(std::remove_if(timers_.begin(), timers_.end(), of_a_fault), timers_.end());
    next_timer_ = timers_.empty() ? proto::never : timers_.back().at;
    waiting_.clear();
    mend_ends();
}

void World::set_acknowledge(proto::Endpoint::Contact contact) {
    controller_.endpoint().set_acknowledge(contact, local(End::controller, now_));
}

void World::demand_by_hand(std::size_t safeguard) {
    at(now_ + scenario_.safeguards[safeguard].delay, TimerKind::hand_in, 0, safeguard);
}

void World::release_by_hand(std::size_t safeguard) {
    at(now_ + scenario_.safeguards[safeguard].delay, TimerKind::hand_out, 0, safeguard);
}

void World::reset_by_hand(std::size_t safeguard) { at(now_, TimerKind::safeguard_reset, 0, safeguard); }

void World::press_emergency_stop(bool pressed) {
    if (!machine_) return;
    machine_->press_emergency_stop(pressed);
    drive(side(output_end_).used, now_);
}

bool World::try_to_start_machine() {
    fire({now_, 0, TimerKind::start_machine, 0, 0}, now_);
    return machine_ && machine_->started();
}

void World::safeguard_changed(std::size_t safeguard) {
    const SafeguardModel& model = safeguard_models_[safeguard];
    const std::uint64_t bit = std::uint64_t{1} << safeguard;
    safeguards_ = model.free() ? safeguards_ | bit : safeguards_ & ~bit;
    if (const Instant check = model.next_check(); check != proto::never)
        at(std::max(check, now_), TimerKind::safeguard_check, 0, safeguard);
    side(scenario_.safeguards[safeguard].at).stale = true;
}

void World::switch_off(End end, Instant now) {
    Side& s = side(end);
    s.used = 0;
    s.stale = true;
    if (end == output_end_) {
        if (observer_.demand_open()) observer_.output(0, now);
        drive(0, now);
    }
    teller_.outputs_off(end, now);
}

void World::begin_to_fail(std::size_t index, Instant now) {
    const Fault& fault = scenario_.faults[index];
    if (fault.when.machine && !machine_moves(now)) {
        waiting_.push_back(index);
        return;
    }
    fail(index, now);
    if (fault.lasting && fault.when.any()) at(now + *fault.lasting, TimerKind::end_mends, 0, index);
}

void World::fail(std::size_t index, Instant now) {
    const Fault& fault = scenario_.faults[index];
    const End at_end = *fault.at_end;
    if (calm_ || !(at_end == End::controller ? parts_.controller : parts_.device)) return;
    FailingEnd& failing_end = failing_end_of(at_end);
    EndOfLink& end = end_of(0, at_end);
    const Direction way = at_end == End::controller ? Direction::to_device : Direction::to_controller;
    teller_.touched(index, way, now, now);
    switch (fault.way) {
        case FaultWay::restart: {
            failing_end.off_until = failing_end.still_until = now + *fault.lasting;
            if (trace_ != nullptr) trace_->unheard(at_end, Unheard::forgotten);
            // other random numbers than at any start before
            end.endpoint().start(local(at_end, now), *fault.lasting,
                                 scramble(seed_ ^ scramble(index + 1) ^ static_cast<std::uint64_t>(now.ns)));
            connections_[static_cast<std::size_t>(at_end)] = 0;
            side(at_end) = Side{};
            switch_off(at_end, now);
            return;
        }
        case FaultWay::stall: {
            const Instant last_scan = std::min(now, deadline(end) - end.endpoint().settings().scan);
            failing_end.still_until = now + *fault.lasting;
            if (scenario_.machine && at_end == output_end_ && scenario_.machine->output_watchdog)
                at(std::max(now, last_scan + *scenario_.machine->output_watchdog), TimerKind::output_watchdog, 0,
                   index);
            return;
        }
        case FaultWay::frozen_data: failing_end.frozen = true; return;
        case FaultWay::clock_drift: failing_end.clock.set_pace(fault.drift_ppm, now); return;
        default: return;  // of the way
    }
}

void World::mend(std::size_t index, Instant now) {
    const Fault& fault = scenario_.faults[index];
    FailingEnd& failing_end = failing_end_of(*fault.at_end);
    if (fault.way == FaultWay::frozen_data) {
        failing_end.frozen = false;
        side(*fault.at_end).stale = true;
    }
    if (fault.way == FaultWay::clock_drift) failing_end.clock.set_pace(0, now);
}

/// A scan of an end whose application takes in nothing new, while its link runs. What the observer hears is true: a
/// signal sent is one only if it should be, and one in use is one if it is held although its source has gone.
void World::read_frozen(EndOfLink& end, Instant now) {
    Side& s = side(end.end());
    const Application& application = end.end() == End::controller ? controller_application_ : device_application_;
    const std::uint64_t received = application.read(end.endpoint().input());
    if (s.told) {
        s.told = false;
        teller_.in_use(end.end(), s.used | received, now);
    }
    if (observer_.demand_open() && end.end() == output_end_) observer_.output(s.used, now);
    transmit(end, s.sent & application.evaluate(received, safeguards_), now);
}

void World::operate(OperatorAct::Event event, std::uint8_t link, Instant now) {
    if (calm_ || link == 1) {
        // the neighbour has an operator of its own, and after the rehearsal somebody tidies up
        if (event != OperatorAct::Event::acknowledgement_requested) return;
        at(now + calm_press_after, TimerKind::press, link, 0);
        at(now + calm_press_after + press_lasts, TimerKind::let_go, link, 0);
        return;
    }
    for (const OperatorAct& act : scenario_.operator_acts) {
        if (act.event != event) continue;
        const Instant when = now + act.after;
        switch (act.act) {
            case OperatorAct::Act::acknowledge:
                at(when, TimerKind::press, 0, 0);
                at(when + press_lasts, TimerKind::let_go, 0, 0);
                break;
            case OperatorAct::Act::hold_acknowledge: at(when, TimerKind::press, 0, 0); break;
            case OperatorAct::Act::start_machine: at(when, TimerKind::start_machine, 0, 0); break;
            case OperatorAct::Act::reset:
                for (std::size_t i = 0; i < scenario_.safeguards.size(); ++i)
                    if (scenario_.safeguards[i].name == act.safeguard) at(when, TimerKind::safeguard_reset, 0, i);
                break;
        }
    }
}

std::optional<std::uint64_t> World::standing() const {
    const auto of_controller = controller_.endpoint().standing(now_);
    const auto of_device = device_.endpoint().standing(now_);
    if (!of_controller || !of_device || sides_[0].told || sides_[1].told) return std::nullopt;
    std::uint64_t sum = scramble(*of_controller) + *of_device;
    bool in_order = true;
    channel_.for_each_on_the_way([&](const Passage& passage, const Telegram& telegram) {
        const proto::Endpoint& to = endpoint(passage.to_end);
        const auto standing = to.standing_of(telegram.view(), now_);
        if (!standing || passage.tag.altered || passage.to_link != 0) {
            in_order = false;
            return;
        }
        // when it arrives does not matter, only in which scan it is read
        const ScanGrid scans{to.settings().scan, Duration{to.next_deadline().ns}};
        const auto read = static_cast<std::uint64_t>((scans.at_or_after(passage.due) - now_).ns);
        sum = scramble(sum ^ scramble(read * 2 + static_cast<std::uint64_t>(passage.to_end))) + *standing;
    });
    if (!in_order) return std::nullopt;
    return sum;
}

void World::skip(std::uint64_t periods, const Period& period) {
    const Duration by = period.ends[0].lasting * static_cast<std::int64_t>(periods);
    proto::require(now_ + by <= next_timer_ && !failing_ && !neighbour_controller_,
                   "World::skip() over somebody's act");
    const auto of = [&](End end) -> const proto::QuietPeriod& { return period.ends[static_cast<std::size_t>(end)]; };
    channel_.skip(by, {periods * period.telegrams[0], periods * period.telegrams[1]},
                  [&](const Passage& passage, Telegram& telegram) {
                      const End to = passage.to_end;
                      end_of(0, to).endpoint().skip_on_the_way(
                          std::span<std::uint8_t, proto::telegram_bytes_max>(telegram.bytes), telegram.size, periods,
                          of(to));
                  });
    controller_.endpoint().skip(periods, of(End::controller));
    device_.endpoint().skip(periods, of(End::device));
    const auto accepted = [&](Direction direction) { return periods * of(receiver(direction)).accepted; };
    observer_.pass_over(by, {accepted(Direction::to_device), accepted(Direction::to_controller)});
    // with the bytes of each pair exchanged, an input counts as new each time
    for (const End end : {End::controller, End::device})
        if (!side(end).stale) side(end).revision = end_of(0, end).endpoint().input_revision();
    cycles_ += periods * period.cycles;
    now_ = now_ + by;
}

/// What is wrong with an end ends, but for a start that is under way.
void World::mend_ends() {
    if (!failing_) return;
    for (const End end : {End::controller, End::device}) {
        FailingEnd& f = failing_end_of(end);
        f.clock.set_pace(0, now_);
        if (f.off_until <= now_) f.still_until = now_;
        if (std::exchange(f.frozen, false)) side(end).stale = true;
    }
}

void World::calm_down() {
    calm_ = true;
    channel_.remove_stages();
    mend_ends();
    // whoever stood with a finger on the button lets go, and an open request is answered
    controller_.endpoint().set_acknowledge(proto::Endpoint::Contact::open, local(End::controller, now_));
    if (controller_.endpoint().acknowledgement_requested())
        operate(OperatorAct::Event::acknowledgement_requested, 0, now_);
}

// Endpoints report by their own clock, which may drift: what is told further is true time.

void World::concluded(std::uint8_t link, End end, proto::Token token, const proto::Verdict& verdict, Instant) {
    if (link != 0) return;
    const Instant now = now_;
    teller_.concluded(end, token, verdict, now);
    if (__builtin_expect(verdict.kind == proto::Verdict::Kind::fresh, 1))
        side(end).told = true;
    else if (verdict.kind == proto::Verdict::Kind::handshake)
        handshake_concluded(end, now);
}

[[gnu::noinline]] void World::handshake_concluded(End end, Instant now) {
    // a new connection at this end: what it sent before can no longer be expected by the other
    const std::uint32_t connections = end_of(0, end).endpoint().connections();
    std::uint32_t& known = connections_[static_cast<std::size_t>(end)];
    if (connections == known) return;
    known = connections;
    teller_.connected(end == End::controller ? Direction::to_device : Direction::to_controller, now);
}

void World::changed(std::uint8_t link, End end, const proto::Transition& transition, Instant) {
    const Instant now = now_;
    if (transition.to == proto::State::awaiting_acknowledgement && end == End::controller)
        operate(OperatorAct::Event::acknowledgement_requested, link, now);
    if (link != 0) return;
    if (transition.to == proto::State::safe_state) ++safe_states_;
    side(end).told = true;
    teller_.changed(end, transition, now);
    const bool running = link_runs();
    if (running && !were_running_) operate(OperatorAct::Event::link_running, 0, now);
    were_running_ = running;
}

void World::acknowledged(std::uint8_t link, End, bool counted, Instant) {
    if (link != 0) return;
    if (counted) ++acknowledgements_;
    teller_.acknowledged(counted, now_);
}

void World::refused(std::uint8_t, End, proto::Refusal, const proto::LinkParameters&, Instant) {}

void World::finish(RunResult& result, Instant now) {
    const auto shown = [](const proto::Endpoint& e) { return EndShown{e.state(), e.refusal(), e.counters()}; };
    sim::finish(result, observer_, {now, cycles_, shown(controller_.endpoint()), shown(device_.endpoint())});
    for (const SafeguardModel& model : safeguard_models_)
        result.safeguards.push_back({model.free()       ? SafeguardState::free
                                     : model.faulty()   ? SafeguardState::discrepancy
                                     : model.demanded() ? SafeguardState::demanded
                                                        : SafeguardState::latched,
                                     model.discrepancies()});
}

}  // namespace sim
