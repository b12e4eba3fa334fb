#pragma once
// One connection of the web server: a request within its limits, its answer, or the event stream that it asks for. Only
// web_server.cpp includes this; what of the HTTP library it needs is in connection.cpp.
#include <cstdint>
#include <memory>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/thread_pool.hpp>

#include "tools/web/crowd.hpp"
#include "tools/web/door.hpp"
#include "tools/web/web_server.hpp"

namespace tools {

/// What all connections of a server share. The crowd is for the thread of `io` alone.
struct Serving {
    WebApplication& application;
    boost::asio::thread_pool& workers;  ///< call the application
    Crowd crowd = {};
    int streams = 0;  ///< event streams
    std::uint64_t last_id = 0;
    bool stopping = false;
    boost::asio::io_context io{1};  ///< the last, so that what waits in it goes before what it speaks of
};

/// Reads, answers and closes; outlives the call, and leaves the crowd at its end.
std::shared_ptr<void> begin_connection(Serving& serving, const Door& door, boost::asio::ip::tcp::socket socket,
                                       Crowd::Id id);
/// Ends one that begin_connection() gave.
void end_connection(const std::shared_ptr<void>& connection);

}  // namespace tools
