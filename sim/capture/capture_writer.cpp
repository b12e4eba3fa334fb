#include "sim/capture/capture_writer.hpp"

#include <algorithm>
#include <cstring>

namespace sim {
namespace {

constexpr std::size_t written_at = std::size_t{256} * 1024;         ///< so many bytes are written together
constexpr std::size_t window_most = std::size_t{16} * 1024 * 1024;  ///< then the oldest is not waited for any more

}  // namespace

CaptureWriter::CaptureWriter(ByteSink& sink, pcapng::Buffer head) : sink_(sink), head_(std::move(head)) {
    write(head_);
}

CaptureWriter::Number CaptureWriter::add(const pcapng::PacketMaker& maker, std::uint64_t at_ns,
                                         std::span<const std::uint8_t> payload, Comment comment) {
    if (used_ >= written_at) write_closed();
    const std::size_t size = maker.block_bytes(payload.size());
    if (used_ + size > bytes_.size()) bytes_.resize(2 * (used_ + size) + written_at);
    maker.write(at_ns, payload, bytes_.data() + used_);
    used_ += size;
    held_.push_back({used_, comment == Comment::to_come});
    return packets();
}

void CaptureWriter::remark(Number packet, std::string_view sentence) {
    if (packet < first_) return;
    std::string& comment = comments_[packet];
    if (!comment.empty()) comment += ' ';
    comment += sentence;
}

void CaptureWriter::close(Number packet) {
    if (packet >= first_) held_[packet - first_].open = false;
}

void CaptureWriter::write_closed() {
    std::size_t count = 0;
    while (count < held_.size() && !held_[count].open) ++count;
    if (count == 0 && used_ < window_most) return;
    for (; used_ >= window_most && count < held_.size() / 2; ++count)
        if (held_[count].open) remark(first_ + count, std::string(too_late) + ".");
    write_first(count);
}

void CaptureWriter::write_first(std::size_t count) {
    if (count == 0) return;
    const std::span<const std::uint8_t> all(bytes_.data(), used_);
    const std::size_t end = held_[count - 1].end;
    const auto last = comments_.lower_bound(first_ + count);
    if (comments_.begin() == last) {
        write(all.first(end));
    } else {
        out_.clear();
        std::size_t from = 0;
        for (auto comment = comments_.begin(); comment != last; ++comment) {
            const std::size_t index = comment->first - first_;
            const std::size_t begin = index == 0 ? 0 : held_[index - 1].end;
            out_.insert(out_.end(), all.begin() + static_cast<std::ptrdiff_t>(from),
                        all.begin() + static_cast<std::ptrdiff_t>(begin));
            pcapng::put_with_comment(out_, all.subspan(begin, held_[index].end - begin), comment->second);
            from = held_[index].end;
        }
        out_.insert(out_.end(), all.begin() + static_cast<std::ptrdiff_t>(from),
                    all.begin() + static_cast<std::ptrdiff_t>(end));
        write(out_);
        comments_.erase(comments_.begin(), last);
    }
    std::memmove(bytes_.data(), bytes_.data() + end, used_ - end);
    used_ -= end;
    held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(count));
    for (Held& held : held_) held.end -= end;
    first_ += count;
}

void CaptureWriter::write(std::span<const std::uint8_t> bytes) {
    if (!failed_) failed_ = !sink_.write(bytes);
}

bool CaptureWriter::finish(std::string_view was, std::string_view is) {
    write_first(held_.size());
    const pcapng::Buffer bytes(is.begin(), is.end());
    if (was.empty()) return !failed_;
    for (auto from = head_.begin(); was.size() == is.size() && !failed_;) {
        const auto found = std::search(from, head_.end(), was.begin(), was.end());
        if (found == head_.end()) break;
        failed_ = !sink_.overwrite(static_cast<std::uint64_t>(found - head_.begin()), bytes);
        from = found + static_cast<std::ptrdiff_t>(was.size());
    }
    return !failed_;
}

}  // namespace sim
