#include "tools/web/web_server.hpp"

#include <algorithm>
#include <chrono>
#include <exception>
#include <future>
#include <memory>
#include <new>
#include <system_error>
#include <thread>
#include <unordered_map>
#include <utility>
#include <vector>

#include <boost/asio/steady_timer.hpp>

#include "tools/web/connection.hpp"

namespace tools {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

constexpr std::size_t threads_most = 2;  ///< call the application, which does one thing at a time
constexpr auto look_every = std::chrono::milliseconds(50);
constexpr auto ends_within = std::chrono::seconds(3);

/// How many threads the computer gives, up to the most: a pool that gets some of its threads and not all waits for ever
/// for those that it has.
std::size_t threads_to_be_had() {
    std::promise<void> over;
    const std::shared_future<void> until = over.get_future().share();
    std::vector<std::thread> tried;
    try {
        while (tried.size() < threads_most) tried.emplace_back([until] { until.wait(); });
    } catch (const std::system_error&) {  // NOLINT(bugprone-empty-catch): told by their number
    } catch (const std::bad_alloc&) {     // NOLINT(bugprone-empty-catch): the same
    }
    over.set_value();
    for (std::thread& thread : tried) thread.join();
    return tried.size();
}

class Listener {
  public:
    Listener(Serving& serving, std::string bound, std::size_t body_most,
             std::unordered_map<Crowd::Id, std::weak_ptr<void>>& connections)
        : serving_(serving), connections_(connections), acceptor_(serving.io), again_(serving.io) {
        door_.bound = std::move(bound);
        door_.body_most = body_most;
    }

    /// The port, or nothing.
    std::optional<std::uint16_t> bind(std::uint16_t port) {
        error_code failed;
        const auto address = asio::ip::make_address_v4(door_.bound, failed);
        if (failed) return std::nullopt;
        const tcp::endpoint at(address, port);
        acceptor_.open(at.protocol(), failed);
        if (!failed) acceptor_.set_option(tcp::acceptor::reuse_address(true), failed);
        if (!failed) acceptor_.bind(at, failed);
        if (!failed) acceptor_.listen(asio::socket_base::max_listen_connections, failed);
        if (failed) return std::nullopt;
        door_.port = acceptor_.local_endpoint(failed).port();
        return door_.port;
    }

    void accept() {
        acceptor_.async_accept([this](error_code failed, tcp::socket socket) {
            if (failed == asio::error::operation_aborted) return;
            if (failed) return accept_later();  // no descriptor to be had: others will go
            take(std::move(socket));
            accept();
        });
    }
    void close() {
        error_code ignored;
        acceptor_.close(ignored);
        again_.cancel();
    }

  private:
    void accept_later() {
        again_.expires_after(look_every);
        again_.async_wait([this](error_code cancelled) {
            if (!cancelled) accept();
        });
    }

    void take(tcp::socket socket) {
        error_code failed;
        const auto peer = socket.remote_endpoint(failed);
        if (failed) return;
        const Crowd::Id id = ++serving_.last_id;
        const Crowd::Entry entry = serving_.crowd.enter(id, peer.address().to_string());
        if (entry.makes_room)
            if (const auto found = connections_.find(*entry.makes_room); found != connections_.end())
                if (const auto alive = found->second.lock()) end_connection(alive);
        if (!entry.comes_in) return;
        std::erase_if(connections_, [](const auto& one) { return one.second.expired(); });
        connections_[id] = begin_connection(serving_, door_, std::move(socket), id);
    }

    Serving& serving_;
    std::unordered_map<Crowd::Id, std::weak_ptr<void>>& connections_;
    Door door_;
    tcp::acceptor acceptor_;
    asio::steady_timer again_;
};

std::optional<Failure> serve_with(asio::thread_pool& workers, WebApplication& application, const WebAddress& address,
                                  const std::function<void(std::uint16_t port)>& ready,
                                  const std::function<bool()>& ends) {
    std::unordered_map<Crowd::Id, std::weak_ptr<void>> connections;
    Serving serving{.application = application, .workers = workers};
    asio::io_context& io = serving.io;
    std::vector<std::unique_ptr<Listener>> all;
    all.push_back(std::make_unique<Listener>(serving, address.listen, address.body_most, connections));
    const auto port = all.front()->bind(address.port);
    const std::string where = address.listen + ":" + std::to_string(address.port);
    if (!port) return machine_said_no(where, "cannot listen there; take another port with --port, or --port 0");
    // the instructor's pages are asked for on this machine itself
    if (!is_loopback(address.listen) && address.listen != "0.0.0.0") {
        all.push_back(std::make_unique<Listener>(serving, "127.0.0.1", address.body_most, connections));
        if (!all.back()->bind(*port))
            return machine_said_no("127.0.0.1:" + std::to_string(*port), "is taken; take another port with --port");
    }
    for (const auto& one : all) one->accept();
    ready(*port);
    while (!ends()) io.run_for(look_every);
    serving.stopping = true;
    for (const auto& one : all) one->close();
    for (const auto& [id, connection] : connections)
        if (const auto alive = connection.lock()) end_connection(alive);
    io.run_for(ends_within);  // until what was under way has left
    workers.join();
    io.run_for(look_every);
    return std::nullopt;
}

}  // namespace

std::optional<Failure> serve(WebApplication& application, const WebAddress& address,
                             const std::function<void(std::uint16_t port)>& ready, const std::function<bool()>& ends) {
    try {
        asio::thread_pool workers(std::max<std::size_t>(threads_to_be_had(), 1));  // none: it says why
        return serve_with(workers, application, address, ready, ends);
    } catch (const std::system_error& problem) {
        return machine_said_no(address.listen, std::string("no thread or socket is to be had: ") + problem.what());
    } catch (const boost::system::system_error& problem) {
        return machine_said_no(address.listen, std::string("no thread or socket is to be had: ") + problem.what());
    }
}

}  // namespace tools
