#pragma once
// A small web server on this machine: refuses what does not belong to it, bounds what it takes and how long that may
// take, and hands the rest to an application. The only place that knows the HTTP library is connection.cpp.
#include <atomic>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "proto/result.hpp"
#include "tools/program/failure.hpp"
#include "tools/text/value.hpp"
#include "tools/web/door.hpp"

namespace tools {

struct WebRequest {
    std::string method, path;
    std::map<std::string, std::string> fields;  ///< of the address and of a form's body
    std::string session;                        ///< cookie, "" without
    std::string token;                          ///< header X-Token
    std::string from = {};                      ///< address of whoever asks
    bool local = false;                         ///< from this machine, and asked for by an address of this machine
};

struct WebReply {
    int status = 200;
    std::string type = "application/json";
    std::string body;
    std::string session = {};   ///< to be set as the cookie
    std::string download = {};  ///< name of the file, if it is to be saved
    std::string policy = {};    ///< of its content, in place of what holds for pages
};

/// Called from several threads at once.
class WebApplication {
  public:
    virtual WebReply answer(const WebRequest& request) = 0;
    /// How things stand for the event stream of that request; nothing: it ends. Asked ten times a second; the stream
    /// tells the first one whole, and then what changed (tools/text/changes.hpp).
    virtual std::optional<Value> event(const WebRequest& request) = 0;
    /// An event stream of that request is to begin; false: one too many. Each that began ends with listens_no_more().
    virtual bool listens(const WebRequest& request) = 0;
    virtual void listens_no_more(const WebRequest& request) = 0;
    /// Goes up with what event streams should tell at once, not only when they are due; nullptr: nothing is so urgent.
    [[nodiscard]] virtual const std::atomic<std::uint64_t>* urgent() const { return nullptr; }

  protected:
    ~WebApplication() = default;
};

struct WebAddress {
    std::string listen = "127.0.0.1";        ///< IPv4 address
    std::uint16_t port = 0;                  ///< 0: a free one
    std::size_t body_most = body_bytes_max;  ///< of a request, in bytes
};

/// Serves until `ends` says so, looked at several times a second; `ready` hears the port. A failure is that of the
/// address: taken, not of this machine; or of the machine, which has no thread to give.
std::optional<Failure> serve(WebApplication& application, const WebAddress& address,
                             const std::function<void(std::uint16_t port)>& ready, const std::function<bool()>& ends);

}  // namespace tools
