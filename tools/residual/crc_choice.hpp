#pragma once
// A CRC as it is typed: by name, or by parameters. What is wrong with it, in one line.
#include <string>

#include "proto/crc_catalogue.hpp"
#include "proto/result.hpp"
#include "tools/program/failure.hpp"
#include "tools/residual/residual_study.hpp"

namespace tools {

Failure failure_of(proto::CrcSpecError error);

/// The CRC of that name in the catalogue; `where` is the option or argument that it was typed for.
proto::Result<const proto::NamedCrc*, Failure> crc_named(const std::string& where, const std::string& name);

/// What is typed as a CRC after the option `where`: a name, or "32:0xF4ACFB13". Its data bits are not known yet.
proto::Result<ResidualSubject, Failure> crc_of(const std::string& where, const std::string& typed);

}  // namespace tools
