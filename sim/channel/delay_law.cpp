#include "sim/channel/delay_law.hpp"

#include <algorithm>

namespace sim {
namespace {

double weight_of(const std::vector<DelayShape::Cell>& cells) {
    double sum = 0.0;
    for (const DelayShape::Cell& cell : cells) sum += static_cast<double>(cell.weight);
    return sum;
}

void append(std::vector<DelayPiece>& pieces, const std::vector<DelayShape::Cell>& cells, double factor) {
    for (const DelayShape::Cell& cell : cells)
        if (cell.weight != 0) pieces.push_back({cell.low, cell.high, factor * static_cast<double>(cell.weight)});
}

}  // namespace

std::vector<DelayPiece> pieces_of(const DelayShape& shape) {
    switch (shape.kind) {
        case DelayShape::Kind::constant: return {{shape.low, shape.low, 1.0}};
        case DelayShape::Kind::uniform: return {{shape.low, shape.high, 1.0}};
        case DelayShape::Kind::histogram: break;
    }
    std::vector<DelayPiece> pieces;
    append(pieces, shape.cells, 1.0);
    if (shape.tail.empty()) return pieces;
    const double beside_it = weight_of(shape.cells) / (1.0 - shape.tail_share);
    append(pieces, shape.tail, beside_it * shape.tail_share / weight_of(shape.tail));
    return pieces;
}

Duration latest_of(const DelayShape& shape) {
    Duration latest{};
    for (const DelayPiece& piece : pieces_of(shape)) latest = std::max(latest, piece.high);
    return latest;
}

}  // namespace sim
