// A training asked for any things in a row, by its trainee, by its instructor and by strangers: every reply is whole
// and of a known status, what is no JSON is none of its pages', and strangers are told nothing.
#include <array>
#include <iterator>

#include "tests/fuzz/few_drills.hpp"
#include "tests/fuzz/fuzz.hpp"
#include "tools/text/json.hpp"

namespace {

constexpr const char* paths[] = {
    "/api/start",    "/api/act",   "/api/act",   "/api/act", "/api/state",  "/api/next",    "/api/exam",
    "/api/explain",  "/api/hold",  "/api/draft", "/api/me",  "/api/drills", "/api/results", "/api/record",
    "/api/withdraw", "/api/words", "/api/join",  "/",        "/favicon.ico"};
constexpr const char* instructors_paths[] = {"room",   "results.json", "results.csv", "record", "pace",
                                             "put-in", "take-out",     "cause",       "free",   "delete",
                                             "hold",   "forget",       "demand",      "nudge"};
constexpr const char* keys[] = {"act", "value", "where",   "what",       "because", "drill",  "place",
                                "id",  "on",    "name",    "code",       "leave",   "who",    "pace",
                                "way", "when",  "confirm", "lasting_ms", "after_s", "minutes"};
constexpr const char* values[] = {
    "step",     "conduct",    "use",        "demand",    "keep",        "acknowledge",
    "reset",    "restart",    "hint",       "name",      "0",           "1",
    "2",        "3",          "4",          "-1",        "4294967296",  "true",
    "false",    "all",        "paused",     "quarter",   "real",        "way-out",
    "loss",     "controller", "device",     "both-ways", "nothing",     "delay",
    "secure",   "look",       "act",        "debrief",   "safe",        "lock-out",
    "keep-out", "tell-shift", "corruption", "telegrams", "counters",    "to-device",
    "1000",     "60",         "put-in",     "now",       "cannot-tell", "9999999999999999999999"};

/// One of those that are known, or bytes of the input.
template <std::size_t N>
std::string one_of(const char* const (&known)[N], fuzz::Input& input) {
    const unsigned which = input.byte();
    if (which >= N * (256 / N) || which > 250) {
        const auto any = input.bytes(input.below(48));
        return fuzz::text_of(any.data(), any.size());
    }
    return known[which % N];
}

class Room {
  public:
    Room() : trainer_(fuzz::few_drills(), {.secret = "secret", .code = "AB12"}, store_, fuzz::surroundings(now_)) {
        tools::WebRequest request{.method = "POST",
                                  .path = "/api/join",
                                  .fields = {{"name", "Ada"}, {"code", "AB12"}},
                                  .session = "",
                                  .token = ""};
        const tools::WebReply reply = trainer_.answer(request);
        const auto told = tools::from_json(reply.body);
        if (!told || reply.session.empty()) fuzz::broken("nobody can join");
        session_ = reply.session;
        token_ = told.value().find("token")->text();
    }

    void ask(fuzz::Input& input) {
        const unsigned how = input.byte();
        tools::WebRequest request{
            .method = (how & 1U) != 0 ? "POST" : "GET", .path = "", .fields = {}, .session = session_, .token = token_};
        const bool instructor = (how & 6U) == 6, stranger = (how & 0x38U) == 0x38;
        if (instructor) {
            request.path = "/api/instructor/" + one_of(instructors_paths, input);
            request.token = stranger ? "guessed" : "secret";
            request.local = !stranger;
        } else {
            request.path = one_of(paths, input);
            if (stranger) request.session = request.token = "guessed";
        }
        for (unsigned count = how >> 6U; count > 0; --count) {
            std::string key = one_of(keys, input);
            request.fields[std::move(key)] = one_of(values, input);
        }
        check(trainer_.answer(request), request, stranger);
        now_ = now_ + proto::milliseconds(10 * std::int64_t{input.byte()});
        if (input.flag()) {
            trainer_.run_on();
            if (const auto news = trainer_.event(request)) static_cast<void>(tools::to_embedded_json(*news));
        }
    }

  private:
    static void check(const tools::WebReply& reply, const tools::WebRequest& request, bool stranger) {
        if (reply.status < 200 || reply.status > 499) fuzz::broken("a status that no reply has");
        if (reply.type == "application/json" && !tools::from_json(reply.body)) fuzz::broken("a reply that is no JSON");
        if (stranger && request.path.starts_with("/api/instructor/") && reply.status < 400)
            fuzz::broken("a stranger instructs");
        if (stranger && (request.path == "/api/state" || request.path == "/api/results") && reply.status < 400)
            fuzz::broken("a stranger is told how somebody does");
    }

    proto::Instant now_{};
    tools::TrainingStore store_{std::nullopt};
    tools::Trainer trainer_;
    std::string session_, token_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    Room room;
    constexpr unsigned requests_most = 24;
    for (unsigned i = 0; i < requests_most && !input.empty(); ++i) room.ask(input);
    return 0;
}
