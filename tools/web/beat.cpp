#include "tools/web/beat.hpp"

#include <chrono>
#include <system_error>

namespace tools {

std::optional<Failure> Beat::start(const std::string& where) {
    try {
        thread_ = std::thread([this] {
            while (!stopped_) {
                each_();
                std::this_thread::sleep_for(std::chrono::milliseconds(20));
            }
        });
    } catch (const std::system_error& problem) {
        return machine_said_no(where, std::string("no thread is to be had: ") + problem.what());
    }
    return std::nullopt;
}

Beat::~Beat() {
    stopped_ = true;
    if (thread_.joinable()) thread_.join();
}

}  // namespace tools
