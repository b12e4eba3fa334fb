// Requests to the desk: who may ask, and what is asked.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <string_view>
#include <utility>

#include "tools/desk/desk.hpp"
#include "tools/desk/rehearsal_told.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"
#include "tools/web/same_secret.hpp"
#include "tools/web/served_file.hpp"

namespace tools {
namespace {

constexpr std::size_t evidence_bytes_max = std::size_t{256} << 20U;
constexpr std::size_t sessions_max = 200;

WebReply replied(const Value& value) { return {.body = to_json(value)}; }

WebReply reply_of(DeskAnswer answer) {
    if (answer.refused)
        return {.status = answer.status == 200 ? 409 : answer.status,
                .body = to_json(Value::Object{{"error", answer.refused->words},
                                              {"kind", rule_of(answer.refused->kind).name},
                                              {"mends", tools::told(answer.mends)}})};
    if (answer.note.empty()) return replied(Value::Object{{"ok", true}});
    return replied(Value::Object{{"ok", true}, {"note", answer.note}, {"mends", tools::told(answer.mends)}});
}

std::string_view type_of(std::string_view name) {
    if (name.ends_with(".html")) return "text/html; charset=utf-8";
    if (name.ends_with(".txt")) return "text/plain; charset=utf-8";
    if (name.ends_with(".csv")) return "text/csv; charset=utf-8";
    if (name.ends_with(".xml")) return "application/xml";
    return name.ends_with(".json") ? "application/json" : "application/octet-stream";
}

/// A file of evidence, whole; nothing if it is none that can be read.
std::optional<std::string> content_beneath(const FolderBeneath& folder, const std::string& name) {
    const auto place = folder.place(name);
    if (!place) return std::nullopt;
    const Descriptor file(::openat(place.value().folder->number(), place.value().leaf.c_str(),
                                   O_RDONLY | O_NOFOLLOW | O_CLOEXEC | O_NONBLOCK));
    struct stat seen {};
    if (!file.open() || ::fstat(file.number(), &seen) != 0 || !S_ISREG(seen.st_mode) ||
        static_cast<std::size_t>(seen.st_size) > evidence_bytes_max)
        return std::nullopt;
    std::string bytes(static_cast<std::size_t>(seen.st_size), '\0');
    std::size_t done = 0;
    while (done < bytes.size()) {
        const ssize_t read = ::read(file.number(), bytes.data() + done, bytes.size() - done);
        if (read <= 0) break;
        done += static_cast<std::size_t>(read);
    }
    bytes.resize(done);
    return bytes;
}

/// Reports bring their script and style with them and need nothing else; what they hold is kept from the page's origin.
constexpr std::string_view policy_of_papers =
    "sandbox allow-scripts allow-downloads allow-modals; default-src 'none'; script-src 'unsafe-inline'; "
    "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

}  // namespace

WebReply desk_refused(int status, std::string_view why) {
    return {.status = status, .body = to_json(Value::Object{{"error", why}, {"mends", Value::List{}}})};
}

WebReply Desk::answer(const WebRequest& request) {
    // a name that leads to this machine is not enough: the address of the page is that of this machine
    if (!request.local) return desk_refused(403, "only on this machine");
    return request.method == "POST" ? answer_post(request) : answer_get(request);
}

WebReply Desk::answer_get(const WebRequest& request) {
    const std::string& path = request.path;
    if (path == "/") return served_page("/desk/pages/desk.html").value_or(desk_refused(404, "no such page"));
    if (path == "/favicon.ico") return {.status = 204, .type = "image/x-icon", .body = ""};
    if (path.starts_with("/pages/") || path.starts_with("/desk/pages/"))
        return served_file(path).value_or(desk_refused(404, "no such page"));
    const std::lock_guard lock(mutex_);
    if (!sessions_.contains(request.session))
        return desk_refused(401, "open the address that was printed at the start");
    if (path == "/api/state") return {.body = to_embedded_json(told())};
    if (path == "/api/text") return replied(Value::Object{{"text", file_ ? Value(file_->text()) : Value()}});
    if (path == "/api/explain") {
        const auto asked = request.fields.find("telegram");
        std::uint64_t telegram = 0;
        if (asked != request.fields.end())
            std::from_chars(asked->second.data(), asked->second.data() + asked->second.size(), telegram);
        Value explained = bench_ ? bench_->explained(telegram) : Value();
        if (explained.object() == nullptr) return reply_of(refuse_telegram(telegram));
        return replied(explained);
    }
    constexpr std::string_view papers = "/evidence/";
    if (path.starts_with(papers)) return evidence(path.substr(papers.size()));
    return desk_refused(404, "no such page");
}

WebReply Desk::evidence(const std::string& name) const {
    const auto& all = evidence_for_people();
    const bool known = std::any_of(all.begin(), all.end(), [&](const auto& one) { return one.first == name; });
    if (!known || !file_ || rehearsed_folder_.empty()) return desk_refused(404, "no such file of a rehearsal");
    auto content = content_beneath(folder_, rehearsed_folder_ + "/" + name);
    if (!content) return desk_refused(404, "it is not there: rehearse first");
    const bool shown = name.ends_with(".html") || name.ends_with(".txt");
    return {.type = std::string(type_of(name)),
            .body = std::move(*content),
            .download = shown ? std::string() : name,
            .policy = std::string(policy_of_papers)};
}

WebReply Desk::enter(const WebRequest& request) {
    if (!same_secret(request.token, settings_.secret))
        return desk_refused(403,
                            "this address is of another desk, or of one that was started anew: take the address "
                            "that was printed at its start");
    const std::lock_guard lock(mutex_);
    if (sessions_.contains(request.session)) return replied(Value::Object{{"ok", true}});
    if (sessions_.size() >= sessions_max) sessions_.clear();  // each page enters again by itself
    std::string session = surroundings_.random();
    sessions_.insert(session);
    WebReply reply = replied(Value::Object{{"ok", true}});
    reply.session = std::move(session);
    return reply;
}

WebReply Desk::answer_post(const WebRequest& request) {
    if (request.path == "/api/enter") return enter(request);
    if (!same_secret(request.token, settings_.secret)) return desk_refused(403, "the secret is missing or wrong");
    const std::lock_guard lock(mutex_);
    if (!sessions_.contains(request.session))
        return desk_refused(401, "open the address that was printed at the start");
    seen_ = surroundings_.now();
    constexpr std::string_view acts = "/api/";
    if (!request.path.starts_with(acts)) return desk_refused(404, "no such act");
    DeskAnswer answer = do_as_asked(request.path.substr(acts.size()), request.fields);
    ++news_;
    return reply_of(std::move(answer));
}

DeskAnswer Desk::refuse_telegram(std::uint64_t telegram) const {
    if (bench_ && bench_->is_on_its_way(telegram)) {
        DeskAnswer answer = refuse(Refused::telegram_on_its_way, "its end has not looked at that telegram yet",
                                   {posting("Step to what comes next", "/api/bench", {{"do", "step"}})});
        answer.status = 404;
        return answer;
    }
    DeskAnswer answer =
        refuse(Refused::telegram_gone,
               "no bytes of that telegram are kept: it was lost, or is too long ago; at a slower rate each is kept",
               {posting("Run at 1/200", "/api/bench", {{"do", "rate"}, {"rate", "1/200"}})});
    answer.status = 404;
    return answer;
}

DeskAnswer Desk::do_as_asked(const std::string& what, const Fields& fields) {
    if (what == "begin") return begin(fields);
    if (what == "look") return look_again();
    if (!file_)
        return refuse(Refused::nothing_open, "nothing is open: begin with a template or a file",
                      {at_page("See what can be begun", "beginnings")});
    if (what == "text") return put_text(fields);
    if (what == "undo" || what == "redo") {
        const bool done = what == "undo" ? file_->undo() : file_->redo();
        if (!done)
            return refuse(Refused::nothing_to_take_back, "there is nothing to " + what + ": the text is as it stands");
        retype();
        return {};
    }
    if (what == "save") return save(fields);
    if (what == "foreign") return answer_foreign(fields);
    if (what == "draft") return answer_draft(fields);
    if (typed_ == nullptr || typed_->broken()) {
        std::vector<Mend> mends{to_line()};
        if (file_->edits().undo_steps() > 0) mends.push_back(posting("Undo", "/api/undo"));
        return refuse(Refused::file_not_read, "the file cannot be read: mend it in the text first, or undo",
                      std::move(mends));
    }
    if (what == "set") return set(fields);
    if (what == "block") return remove_block(fields);
    if (what == "bench") return at_bench(fields);
    if (what == "replay") return replay(fields);
    if (what == "keep") return keep(fields);
    if (what == "rehearse") return rehearse();
    if (what == "job") return work(fields);
    if (what == "drop") return drop(fields);
    DeskAnswer answer =
        refuse(Refused::foreign_page, "this program knows no such act; another one brought the page", {load_again()});
    answer.status = 404;
    return answer;
}

}  // namespace tools
