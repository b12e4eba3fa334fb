#include "tools/web/web_server.hpp"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <memory>
#include <thread>
#include <vector>

#include <httplib.h>

namespace tools {
namespace {

constexpr std::size_t body_bytes_max = std::size_t{16} * 1024;
constexpr std::size_t threads = 128;   ///< an event stream keeps one
constexpr int event_streams_max = 96;  ///< the rest of the threads stays free for pages
constexpr auto event_every = std::chrono::milliseconds(100);

bool is_loopback(const std::string& address) { return address.starts_with("127.") || address == "::1"; }

/// Host without its port.
std::string host_of(const std::string& header) { return header.substr(0, header.rfind(':')); }

/// The value of that cookie, or "".
std::string cookie_of(const std::string& header, const std::string& name) {
    for (std::size_t from = 0; from < header.size();) {
        const std::size_t end = std::min(header.find(';', from), header.size());
        if (header.compare(from, name.size() + 1, name + "=") == 0)
            return header.substr(from + name.size() + 1, end - from - name.size() - 1);
        from = std::min(header.find_first_not_of(' ', end + 1), header.size());
    }
    return {};
}

bool is_ipv4(const std::string& text) {
    in_addr unused{};
    return inet_pton(AF_INET, text.c_str(), &unused) == 1;
}

class Serving {
  public:
    Serving(WebApplication& application, std::string bound) : application_(application), bound_(std::move(bound)) {
        server_.new_task_queue = [] { return new httplib::ThreadPool(threads); };
        server_.set_payload_max_length(body_bytes_max);
        server_.set_read_timeout(3, 0);
        server_.set_write_timeout(5, 0);
        // a connection that waits for its next request would keep a thread from others
        server_.set_keep_alive_max_count(1);
        server_.set_tcp_nodelay(true);
        // the library would let a second server take the same port
        server_.set_socket_options([](socket_t socket) {
            const int on = 1;
            setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
        });
        server_.set_pre_routing_handler(
            [this](const httplib::Request& request, httplib::Response& response) { return gate(request, response); });
        const auto answer = [this](const httplib::Request& request, httplib::Response& response) {
            reply(application_.answer(read(request)), response);
        };
        server_.Get("/api/events", [this](const httplib::Request& request, httplib::Response& response) {
            stream(request, response);
        });
        server_.Get(".*", answer);
        server_.Post(".*", answer);
        server_.set_exception_handler(
            [](const httplib::Request&, httplib::Response& response, const std::exception_ptr&) {
                response.status = 500;
                response.set_content(R"({"error":"internal"})", "application/json");
            });
    }

    /// The port, or nothing.
    std::optional<std::uint16_t> bind(std::uint16_t port) {
        if (port != 0) {
            if (!server_.bind_to_port(bound_, port)) return std::nullopt;
            port_ = port;
            return port;
        }
        const int found = server_.bind_to_any_port(bound_);
        if (found <= 0) return std::nullopt;
        port_ = static_cast<std::uint16_t>(found);
        return port_;
    }
    void run() {
        thread_ = std::thread([this] { server_.listen_after_bind(); });
    }
    void stop() {
        stopping_ = true;
        server_.stop();
        if (thread_.joinable()) thread_.join();
    }

  private:
    using Handled = httplib::Server::HandlerResponse;

    [[nodiscard]] bool own_host(const std::string& header) const {
        const std::string host = host_of(header);
        // a browser leaves the port of the web itself out
        if (header != host + ":" + std::to_string(port_) && !(port_ == 80 && header == host)) return false;
        if (host == "localhost" || host == "127.0.0.1") return true;
        // a name could be pointed here by somebody else's server; an address cannot
        return bound_ == "0.0.0.0" ? is_ipv4(host) : host == bound_;
    }

    Handled gate(const httplib::Request& request, httplib::Response& response) const {
        response.set_header("Content-Security-Policy",
                            "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src "
                            "'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'");
        response.set_header("X-Content-Type-Options", "nosniff");
        response.set_header("Referrer-Policy", "no-referrer");
        response.set_header("Cross-Origin-Opener-Policy", "same-origin");
        response.set_header("Cross-Origin-Resource-Policy", "same-origin");
        response.set_header("Cache-Control", "no-store");
        const std::string host = request.get_header_value("Host");
        if (request.get_header_value_count("Host") != 1 || !own_host(host))
            return refuse(response, 421, "another host was asked for");
        const std::string origin = request.get_header_value("Origin");
        if (!origin.empty() && origin != "http://" + host)
            return refuse(response, 403, "asked for by a page of another origin");
        if (request.method != "GET" && request.method != "POST" && request.method != "HEAD")
            return refuse(response, 405, "only GET and POST");
        return Handled::Unhandled;
    }

    static Handled refuse(httplib::Response& response, int status, const char* why) {
        response.status = status;
        response.set_content(std::string(R"({"error":")") + why + "\"}", "application/json");
        return Handled::Handled;
    }

    /// With the port: cookies are shared by all servers of a machine.
    [[nodiscard]] std::string cookie_name() const { return "linkdrill_session_" + std::to_string(port_); }

    [[nodiscard]] WebRequest read(const httplib::Request& request) const {
        WebRequest read;
        read.method = request.method == "HEAD" ? "GET" : request.method;
        read.path = request.path;
        for (const auto& [key, value] : request.params) read.fields[key] = value;
        read.session = cookie_of(request.get_header_value("Cookie"), cookie_name());
        read.token = request.get_header_value("X-Token");
        read.from = request.remote_addr;
        const std::string host = host_of(request.get_header_value("Host"));
        read.local = is_loopback(request.remote_addr) && (host == "localhost" || is_loopback(host));
        return read;
    }

    void reply(const WebReply& reply, httplib::Response& response) const {
        response.status = reply.status;
        if (!reply.session.empty())
            response.set_header("Set-Cookie",
                                cookie_name() + "=" + reply.session + "; Path=/; HttpOnly; SameSite=Strict");
        if (!reply.download.empty())
            response.set_header("Content-Disposition", "attachment; filename=\"" + reply.download + "\"");
        response.set_content(reply.body, reply.type);
    }

    void stream(const httplib::Request& request, httplib::Response& response) {
        const WebRequest asked = read(request);
        if (!application_.event(asked)) {
            refuse(response, 401, "no such session");
            return;
        }
        if (streams_.fetch_add(1) >= event_streams_max) {
            --streams_;
            refuse(response, 503, "too many event streams");
            return;
        }
        if (!application_.listens(asked)) {
            --streams_;
            refuse(response, 503, "too many event streams");
            return;
        }
        response.set_chunked_content_provider(
            "text/event-stream",
            [this, asked](std::size_t, httplib::DataSink& sink) {
                const std::optional<std::string> event = stopping_ ? std::nullopt : application_.event(asked);
                if (!event) {
                    sink.done();
                    return true;
                }
                const std::string text = "data: " + *event + "\n\n";
                if (!sink.write(text.data(), text.size())) return false;
                std::this_thread::sleep_for(event_every);
                return true;
            },
            [this, asked](bool) {
                application_.listens_no_more(asked);
                --streams_;
            });
    }

    WebApplication& application_;
    std::string bound_;
    std::uint16_t port_ = 0;
    httplib::Server server_;
    std::thread thread_;
    std::atomic<int> streams_ = 0;
    std::atomic<bool> stopping_ = false;
};

}  // namespace

std::optional<Failure> serve(WebApplication& application, const WebAddress& address,
                             const std::function<void(std::uint16_t port)>& ready, const std::function<bool()>& ends) {
    std::vector<std::unique_ptr<Serving>> all;
    all.push_back(std::make_unique<Serving>(application, address.listen));
    const auto port = all.front()->bind(address.port);
    const std::string where = address.listen + ":" + std::to_string(address.port);
    if (!port) return machine_said_no(where, "cannot listen there; take another port with --port, or --port 0");
    // the instructor's pages are asked for on this machine itself
    if (!is_loopback(address.listen) && address.listen != "0.0.0.0") {
        all.push_back(std::make_unique<Serving>(application, "127.0.0.1"));
        if (!all.back()->bind(*port))
            return machine_said_no("127.0.0.1:" + std::to_string(*port), "is taken; take another port with --port");
    }
    for (const auto& one : all) one->run();
    ready(*port);
    while (!ends()) std::this_thread::sleep_for(std::chrono::milliseconds(50));
    for (const auto& one : all) one->stop();
    return std::nullopt;
}

}  // namespace tools
