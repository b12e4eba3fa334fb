#include "sim/judge/part.hpp"

namespace sim {

std::string_view name_of(Part part) {
    switch (part) {
        case Part::controller: return "controller";
        case Part::channel: return "channel";
        case Part::device: return "device";
    }
    return "?";
}

}  // namespace sim
