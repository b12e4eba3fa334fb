#include "tools/web/connection.hpp"

#include <algorithm>
#include <cctype>
#include <chrono>
#include <exception>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>

#include "tools/text/changes.hpp"
#include "tools/text/json.hpp"

namespace tools {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using boost::system::error_code;

constexpr auto head_within = std::chrono::seconds(5);    ///< from the connection to the end of the head
constexpr auto body_within = std::chrono::seconds(5);    ///< from there to the end of the body
constexpr auto reply_within = std::chrono::seconds(10);  ///< until the other side has taken it
constexpr auto event_every = std::chrono::milliseconds(100);
constexpr auto look_for_news_every = std::chrono::milliseconds(5);
constexpr int event_streams_max = 96;

std::string small_letters(std::string_view text) {
    std::string small(text);
    std::transform(small.begin(), small.end(), small.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return small;
}

template <class Message>
WebHead head_of(const Message& message) {
    WebHead head;
    head.method = std::string(message.method_string());
    head.target = std::string(message.target());
    for (const auto& field : message)
        head.headers.emplace_back(small_letters({field.name_string().data(), field.name_string().size()}),
                                  std::string(field.value()));
    return head;
}

std::string reason_of(int status) { return std::string(http::obsolete_reason(static_cast<http::status>(status))); }

constexpr const char* policy_of_pages =
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// All heads of replies are written here.
std::string reply_head(int status, const std::string& more, const std::string& policy = policy_of_pages) {
    return "HTTP/1.1 " + std::to_string(status) + " " + reason_of(status) +
           "\r\nConnection: close\r\nContent-Security-Policy: " + policy +
           "\r\nX-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\n"
           "Cross-Origin-Opener-Policy: same-origin\r\nCross-Origin-Resource-Policy: same-origin\r\n"
           "Cache-Control: no-store\r\n" +
           more + "\r\n";
}

/// Something came that is no request, and not just an end.
bool is_misread(error_code failed) {
    return failed.category() == make_error_code(http::error::bad_method).category() &&
           failed != http::error::end_of_stream && failed != http::error::partial_message;
}

WebReply refusal(const TurnedAway& away) {
    return {.status = away.status, .body = to_json(Value::Object{{"error", away.why}})};
}

/// Whatever goes wrong in it is one request's trouble.
WebReply answer_of(WebApplication& application, const WebRequest& request) {
    try {
        return application.answer(request);
    } catch (const std::exception&) {
        return {.status = 500, .body = R"({"error":"internal"})"};
    }
}

class Connection : public std::enable_shared_from_this<Connection> {
  public:
    Connection(Serving& serving, Door door, asio::ip::tcp::socket socket, Crowd::Id id)
        : serving_(serving), door_(std::move(door)), stream_(std::move(socket)), timer_(serving.io), id_(id) {
        error_code ignored;
        stream_.socket().set_option(asio::ip::tcp::no_delay(true), ignored);
        const auto peer = stream_.socket().remote_endpoint(ignored);
        from_ = peer.address().to_string();
    }
    ~Connection() { serving_.crowd.leave(id_); }
    Connection(const Connection&) = delete;
    Connection& operator=(const Connection&) = delete;

    void begin() {
        parser_.header_limit(head_bytes_max);
        parser_.body_limit(door_.body_most);
        stream_.expires_after(head_within);
        http::async_read_header(stream_, buffer_, parser_,
                                [self = shared_from_this()](error_code failed, std::size_t) { self->look(failed); });
    }
    void close() {
        error_code ignored;
        stream_.socket().shutdown(asio::ip::tcp::socket::shutdown_both, ignored);
        stream_.close();
        timer_.cancel();
    }

  private:
    void look(error_code failed) {
        if (failed == http::error::header_limit) return say(refusal({431, "too long a head"}));
        if (failed == http::error::body_limit) return say(refusal({413, "too long"}));
        if (failed) return is_misread(failed) ? say(refusal({400, "no request that is understood"})) : close();
        head_ = head_of(parser_.get());
        if (const auto away = turned_away(door_, head_)) return say(refusal(*away));
        stream_.expires_after(body_within);
        http::async_read(stream_, buffer_, parser_,
                         [self = shared_from_this()](error_code read, std::size_t) { self->take(read); });
    }

    void take(error_code failed) {
        if (failed) return failed == http::error::body_limit ? say(refusal({413, "too long"})) : close();
        serving_.crowd.asked(id_);
        asked_ = request();
        if (asked_.path == "/api/events" && head_.method == "GET") return begin_stream();
        ask([](Connection& self) { return answer_of(self.serving_.application, self.asked_); },
            [](Connection& self, WebReply reply) { self.say(reply); });
    }

    /// With the port: cookies are shared by all servers of a machine.
    [[nodiscard]] std::string cookie_name() const { return "linkdrill_session_" + std::to_string(door_.port); }

    [[nodiscard]] WebRequest request() const {
        WebRequest read;
        read.method = head_.method == "HEAD" ? "GET" : head_.method;
        const std::size_t query = std::min(head_.target.find('?'), head_.target.size());
        read.path = head_.target.substr(0, query);
        std::vector<std::pair<std::string, std::string>> fields;
        if (query < head_.target.size()) read_fields(std::string_view(head_.target).substr(query + 1), fields);
        if (small_letters(head_.first("content-type")).starts_with("application/x-www-form-urlencoded"))
            read_fields(parser_.get().body(), fields);
        for (auto& [key, value] : fields) read.fields[key] = std::move(value);
        read.session = cookie_of(head_.first("cookie"), cookie_name());
        read.token = std::string(head_.first("x-token"));
        const std::string host = host_of(head_.first("host"));
        read.local = is_loopback(from_) && (host == "localhost" || is_loopback(host));
        read.from = from_;
        return read;
    }

    void say(const WebReply& reply) {
        std::string more =
            "Content-Type: " + reply.type + "\r\nContent-Length: " + std::to_string(reply.body.size()) + "\r\n";
        if (!reply.session.empty())
            more += "Set-Cookie: " + cookie_name() + "=" + reply.session + "; Path=/; HttpOnly; SameSite=Strict\r\n";
        if (!reply.download.empty()) more += "Content-Disposition: attachment; filename=\"" + reply.download + "\"\r\n";
        said_ = reply_head(reply.status, more, reply.policy.empty() ? policy_of_pages : reply.policy);
        if (head_.method != "HEAD") said_ += reply.body;
        stream_.expires_after(reply_within);
        asio::async_write(stream_, asio::buffer(said_),
                          [self = shared_from_this()](error_code, std::size_t) { self->end_well(); });
    }

    /// What the other side still sends would make the system throw the reply away: it is read, for a moment.
    void end_well() {
        error_code ignored;
        stream_.socket().shutdown(asio::ip::tcp::socket::shutdown_send, ignored);
        stream_.expires_after(std::chrono::seconds(1));
        drain();
    }
    void drain() {
        stream_.async_read_some(asio::buffer(scrap_), [self = shared_from_this()](error_code failed, std::size_t size) {
            self->drained_ += size;
            constexpr std::size_t enough = std::size_t{1} << 20U;
            if (failed || self->drained_ > enough)
                self->close();
            else
                self->drain();
        });
    }

    // ---- an event stream ----

    void begin_stream() {
        if (serving_.streams >= event_streams_max) return say(refusal({503, "too many event streams"}));
        ++serving_.streams;
        struct First {
            std::optional<Value> now;
            bool one_too_many = false;
        };
        ask(
            [](Connection& self) {
                First first{.now = self.event_now()};
                first.one_too_many = first.now && !self.serving_.application.listens(self.asked_);
                return first;
            },
            [](Connection& self, First first) {
                if (first.now && !first.one_too_many) return self.tell_first(std::move(*first.now));
                --self.serving_.streams;
                self.say(refusal(first.one_too_many ? TurnedAway{503, "too many event streams"}
                                                    : TurnedAway{401, "no such session"}));
            });
    }

    void tell_first(Value now) {
        said_ = reply_head(200, "Content-Type: text/event-stream\r\n") + "data: " + to_embedded_json(now) + "\n\n";
        last_ = std::move(now);
        write_event();
    }

    void write_event() {
        stream_.expires_after(reply_within);
        asio::async_write(stream_, asio::buffer(said_), [self = shared_from_this()](error_code failed, std::size_t) {
            if (failed) return self->end_stream();
            self->wait_for_event(event_every);
        });
    }

    /// In pieces where something may have to be told sooner.
    void wait_for_event(std::chrono::milliseconds left) {
        const std::atomic<std::uint64_t>* const news = serving_.application.urgent();
        const auto piece = news == nullptr ? left : std::min(left, look_for_news_every);
        timer_.expires_after(piece);
        timer_.async_wait([self = shared_from_this(), news, left, piece](error_code cancelled) {
            if (cancelled || self->serving_.stopping) return self->end_stream();
            const bool urgent = news != nullptr && *news != self->told_news_;
            if (left > piece && !urgent) return self->wait_for_event(left - piece);
            if (news != nullptr) self->told_news_ = *news;
            self->ask_event();
        });
    }

    void ask_event() {
        ask(
            [](Connection& self) {
                std::optional<Value> now = self.event_now();
                if (!now) return std::string();
                const auto change = changes_between(self.last_, *now);
                self.last_ = std::move(*now);
                // a line that says nothing shows that the other side still hears
                return change ? "event: changes\ndata: " + to_embedded_json(*change) + "\n\n" : std::string(":\n\n");
            },
            [](Connection& self, std::string text) {
                if (text.empty()) return self.end_stream();
                self.said_ = std::move(text);
                self.write_event();
            });
    }

    void end_stream() {
        --serving_.streams;
        ask(
            [](Connection& self) {
                self.serving_.application.listens_no_more(self.asked_);
                return true;
            },
            [](Connection&, bool) {});
        close();
    }

    /// Whatever goes wrong in it ends this stream only.
    [[nodiscard]] std::optional<Value> event_now() const {
        try {
            return serving_.application.event(asked_);
        } catch (const std::exception&) {
            return std::nullopt;
        }
    }

    /// Lets a worker do `work`, and `then` goes on with what it found in the thread of `io`. The worker gives its hold
    /// on the connection away with that, so that none ever ends in a worker: what connections share is for `io` alone.
    template <class Work, class Then>
    void ask(Work work, Then then) {
        asio::post(serving_.workers, [self = shared_from_this(), work, then]() mutable {
            auto found = work(*self);
            asio::io_context& io = self->serving_.io;
            asio::post(io, [self = std::move(self), found = std::move(found), then]() mutable {
                then(*self, std::move(found));
            });
        });
    }

    Serving& serving_;
    Door door_;
    beast::tcp_stream stream_;
    asio::steady_timer timer_;
    Crowd::Id id_;
    std::string from_;
    beast::flat_buffer buffer_;
    http::request_parser<http::string_body> parser_;
    WebHead head_;
    WebRequest asked_;
    std::string said_;
    std::uint64_t told_news_ = 0;
    Value last_;  ///< of an event stream; never read and written at once, since a next event is asked for only after
    char scrap_[4096] = {};
    std::size_t drained_ = 0;
};

}  // namespace

std::shared_ptr<void> begin_connection(Serving& serving, const Door& door, asio::ip::tcp::socket socket, Crowd::Id id) {
    auto connection = std::make_shared<Connection>(serving, door, std::move(socket), id);
    connection->begin();
    return connection;
}

void end_connection(const std::shared_ptr<void>& connection) { static_cast<Connection*>(connection.get())->close(); }

}  // namespace tools
