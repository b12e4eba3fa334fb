// The names that files and JSON use.
#include "sim/scenario/distance_case.hpp"
#include "sim/scenario/errors.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

std::string_view name_of(ErrorKind error) {
    switch (error) {
        case ErrorKind::corruption: return "corruption";
        case ErrorKind::repetition: return "repetition";
        case ErrorKind::incorrect_sequence: return "incorrect-sequence";
        case ErrorKind::loss: return "loss";
        case ErrorKind::delay: return "delay";
        case ErrorKind::insertion: return "insertion";
        case ErrorKind::masquerade: return "masquerade";
        case ErrorKind::addressing: return "addressing";
        case ErrorKind::none: return "none";
    }
    return "?";
}

std::string_view name_of(FaultWay way) {
    switch (way) {
        case FaultWay::flip_bits: return "flip-bits";
        case FaultWay::random_bits: return "random-bits";
        case FaultWay::burst: return "burst";
        case FaultWay::bit_rate: return "bit-rate";
        case FaultWay::truncate: return "truncate";
        case FaultWay::beside: return "beside";
        case FaultWay::instead: return "instead";
        case FaultWay::current_again: return "current-again";
        case FaultWay::old_parameters: return "old-parameters";
        case FaultWay::hold: return "hold";
        case FaultWay::drop: return "drop";
        case FaultWay::step: return "step";
        case FaultWay::creeping: return "creeping";
        case FaultWay::neighbour: return "neighbour";
        case FaultWay::stray: return "stray";
        case FaultWay::no_crc: return "no-crc";
        case FaultWay::other_crc: return "other-crc";
        case FaultWay::all_zero: return "all-zero";
        case FaultWay::swap: return "swap";
        case FaultWay::misdeliver: return "misdeliver";
        case FaultWay::loop_back: return "loop-back";
        case FaultWay::restart: return "restart";
        case FaultWay::stall: return "stall";
        case FaultWay::frozen_data: return "frozen-data";
        case FaultWay::clock_drift: return "clock-drift";
        case FaultWay::drive_does_not_slow: return "drive-does-not-slow";
    }
    return "?";
}

ErrorKind error_of(FaultWay way) {
    switch (way) {
        case FaultWay::flip_bits:
        case FaultWay::random_bits:
        case FaultWay::burst:
        case FaultWay::bit_rate:
        case FaultWay::truncate: return ErrorKind::corruption;
        case FaultWay::beside:
        case FaultWay::instead:
        case FaultWay::current_again:
        case FaultWay::old_parameters: return ErrorKind::repetition;
        case FaultWay::hold: return ErrorKind::incorrect_sequence;
        case FaultWay::drop: return ErrorKind::loss;
        case FaultWay::step:
        case FaultWay::creeping: return ErrorKind::delay;
        case FaultWay::neighbour:
        case FaultWay::stray: return ErrorKind::insertion;
        case FaultWay::no_crc:
        case FaultWay::other_crc:
        case FaultWay::all_zero: return ErrorKind::masquerade;
        case FaultWay::swap:
        case FaultWay::misdeliver:
        case FaultWay::loop_back: return ErrorKind::addressing;
        case FaultWay::restart:
        case FaultWay::stall:
        case FaultWay::frozen_data:
        case FaultWay::clock_drift:
        case FaultWay::drive_does_not_slow: return ErrorKind::none;
    }
    return ErrorKind::corruption;
}

std::string_view name_of(Edition edition) { return edition == Edition::iso_13855_2010 ? "2010" : "2024"; }

std::string_view name_of(Approach approach) {
    switch (approach) {
        case Approach::right_angle: return "right-angle";
        case Approach::multi_beam: return "multi-beam";
        case Approach::single_beam: return "single-beam";
        case Approach::parallel: return "parallel";
        case Approach::mat: return "mat";
        case Approach::two_hand: return "two-hand";
        case Approach::interlocked_guard: return "interlocked-guard";
    }
    return "?";
}

std::string_view name_of(StopCategory stop) {
    switch (stop) {
        case StopCategory::category_0: return "category-0";
        case StopCategory::category_1: return "category-1";
        case StopCategory::category_2: return "category-2";
        case StopCategory::reduced_speed: return "reduced-speed";
    }
    return "?";
}

std::string_view name_of(GuardKind kind) {
    switch (kind) {
        case GuardKind::mat: return "mat";
        case GuardKind::curtain: return "curtain";
        case GuardKind::field: return "field";
        case GuardKind::interlocked_guard: return "interlocked-guard";
        case GuardKind::emergency_stop: return "emergency-stop";
        case GuardKind::two_hand: return "two-hand";
        case GuardKind::enabling: return "enabling";
    }
    return "?";
}

}  // namespace sim
