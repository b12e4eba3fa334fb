#pragma once
// The settings that a capture of ours carries, read back.
#include <string>

#include "proto/result.hpp"
#include "sim/capture/capture_settings.hpp"
#include "sim/reading/read.hpp"

namespace sim {

/// `text`: the comment as written() made it; `path`: of the capture, for messages. The settings are possible ones: a
/// codec can be built of them.
proto::Result<CaptureSettings, FileError> read_capture_settings(const std::string& text, const std::string& path);

}  // namespace sim
