#include "tools/residual/weights_cache.hpp"

#include <cerrno>
#include <charconv>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <string_view>
#include <system_error>
#include <utility>
#include <vector>

#include <unistd.h>

#include "sim/scenario/units.hpp"
#include "tools/program/console.hpp"
#include "tools/program/log.hpp"
#include "tools/store/running_check.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

// The first line says whose file it is; the last holds the CRC-64/XZ of all lines before it.
constexpr std::string_view first_line = "linkdrill dual weights, 1\n";
constexpr std::string_view last_line = "checksum ";
constexpr std::uintmax_t file_bytes_max = 200'000;  // 2845 counts of at most 10 digits are 31 kB

std::uint64_t checksum(std::string_view text) {
    return check_of_files().over({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

std::string second_line(const sim::Generator& generator, unsigned data_bits) {
    return "width " + std::to_string(generator.width) + " polynomial " +
           sim::written_hex(generator.polynomial, (generator.width + 3) / 4) + " data bits " +
           std::to_string(data_bits) + "\n";
}

std::string written(const sim::WeightDistribution& weights) {
    std::string text(first_line);
    text += second_line(weights.generator, weights.data_bits);
    for (const std::uint64_t count : weights.dual) text += std::to_string(count) + "\n";
    text += std::string(last_line) + sim::written_hex(checksum(text), 16) + "\n";
    return text;
}

void say(const std::string& text) {
    const std::string line = on_one_line(text);
    write_error_line("linkdrill: " + line);
    log_line(line);
}

}  // namespace

std::string WeightsCache::usual_folder() {
    const auto set = [](const char* name) -> std::string {
        const char* value = std::getenv(name);
        // the base directory specification of freedesktop.org: a relative path is to be ignored
        return value != nullptr && value[0] == '/' ? value : "";
    };
    if (const std::string base = set("XDG_CACHE_HOME"); !base.empty()) return base + "/linkdrill";
    if (const std::string home = set("HOME"); !home.empty()) return home + "/.cache/linkdrill";
    return "";
}

std::string WeightsCache::file_of(const sim::Generator& generator, unsigned data_bits) const {
    return folder_ + "/weights-" + std::to_string(generator.width) + "-" +
           sim::written_hex(generator.polynomial, (generator.width + 3) / 4).substr(2) + "-" +
           std::to_string(data_bits) + ".txt";
}

WeightsCache::Found WeightsCache::read(const std::string& file, const sim::Generator& generator, unsigned data_bits,
                                       std::vector<std::uint64_t>& dual) {
    std::error_code error;
    const fs::file_status status = fs::symlink_status(file, error);
    if (status.type() == fs::file_type::not_found) return Found::nothing;
    if (status.type() != fs::file_type::regular) return Found::foreign;
    // what a crash leaves of a file whose content had not reached the disk; nobody loses anything by it
    if (fs::file_size(file, error) == 0 && !error) return Found::corrupt;
    std::ifstream in(file, std::ios::binary);
    std::string text(first_line.size(), '\0');
    in.read(text.data(), static_cast<std::streamsize>(text.size()));
    if (!in || text != first_line) return Found::foreign;
    const std::uintmax_t size = fs::file_size(file, error);
    if (error || size > file_bytes_max) return Found::corrupt;
    text.resize(size);
    in.seekg(0);
    in.read(text.data(), static_cast<std::streamsize>(size));
    if (!in) return Found::corrupt;

    const std::size_t end = text.rfind(last_line);
    if (end == std::string::npos) return Found::corrupt;
    const std::string_view covered = std::string_view(text).substr(0, end);
    if (text.substr(end) != std::string(last_line) + sim::written_hex(checksum(covered), 16) + "\n")
        return Found::corrupt;
    const std::string heading = std::string(first_line) + second_line(generator, data_bits);
    if (!covered.starts_with(heading)) return Found::corrupt;
    for (std::size_t at = heading.size(); at < covered.size();) {
        const char* const begin = covered.data() + at;
        const char* const stop = covered.data() + covered.size();
        std::uint64_t count = 0;
        const auto [after, problem] = std::from_chars(begin, stop, count);
        if (problem != std::errc{} || after == stop || *after != '\n') return Found::corrupt;
        dual.push_back(count);
        at += static_cast<std::size_t>(after - begin) + 1;
    }
    return Found::usable;
}

void WeightsCache::say_once(const std::string& text) {
    if (said_) return;
    said_ = true;
    say(text);
}

void WeightsCache::keep(const std::string& file, const sim::WeightDistribution& weights) {
    std::error_code error;
    fs::create_directories(folder_, error);
    if (error) return say_once(folder_ + ": " + error.message() + "; weights are not kept for the next time");
    std::string temporary = file + ".XXXXXX";
    const int descriptor = ::mkstemp(temporary.data());
    if (descriptor < 0)
        return say_once(folder_ + ": " + std::strerror(errno) + "; weights are not kept for the next time");
    const std::string text = written(weights);
    std::size_t done = 0;
    while (done < text.size()) {
        const ssize_t count = ::write(descriptor, text.data() + done, text.size() - done);
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) break;
        done += static_cast<std::size_t>(count);
    }
    const bool whole = done == text.size() && ::fsync(descriptor) == 0;
    const int problem = errno;
    const bool closed = ::close(descriptor) == 0;
    if (whole && closed && ::rename(temporary.c_str(), file.c_str()) == 0) return;
    const int reason = whole ? errno : problem;
    ::unlink(temporary.c_str());
    say_once(file + ": " + std::strerror(reason) + "; weights are not kept for the next time");
}

sim::WeightDistribution WeightsCache::get(const sim::Generator& generator, unsigned data_bits,
                                          const sim::Effort& effort) {
    if (folder_.empty()) return sim::weight_distribution(generator, data_bits, effort);
    const std::string file = file_of(generator, data_bits);
    std::vector<std::uint64_t> dual;
    Found found = read(file, generator, data_bits, dual);
    if (found == Found::usable) {
        if (auto weights = sim::distribution_from(generator, data_bits, std::move(dual))) {
            log_line("weights from " + file);
            return std::move(*weights);
        }
        found = Found::corrupt;
    }
    if (found == Found::corrupt) say(file + ": corrupt; computed anew and replaced");
    if (found == Found::foreign) say(file + ": not written by linkdrill; left as it is, computed anew");
    sim::WeightDistribution weights = sim::weight_distribution(generator, data_bits, effort);
    if (found != Found::foreign) keep(file, weights);
    return weights;
}

}  // namespace tools
