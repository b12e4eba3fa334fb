#pragma once
// A capture that is written byte by byte (the classic format: IETF draft-ietf-opsawg-pcap), in a file that goes with
// it.
#include <cstdint>
#include <string>
#include <string_view>

namespace tests {

class WrittenCapture {
  public:
    WrittenCapture();
    WrittenCapture(const WrittenCapture&) = delete;
    WrittenCapture& operator=(const WrittenCapture&) = delete;
    ~WrittenCapture();

    /// A UDP packet between hosts 1 and 2, 3 ... of 10.0.0.0, at a time in nanoseconds.
    void packet(std::int64_t ns, unsigned from, unsigned to, unsigned from_port, unsigned to_port,
                std::string_view payload = "same");
    /// Takes bytes off its end.
    void cut(std::size_t bytes) { bytes_.resize(bytes_.size() - bytes); }
    /// Something else in place of all of it.
    void text(const std::string& instead) { bytes_ = instead; }
    /// Puts it into the file; its path.
    [[nodiscard]] std::string written() const;

  private:
    void little(std::uint64_t value, unsigned bytes);
    std::string bytes_;
};

}  // namespace tests
