#pragma once
// The desk behind its page: a file of a folder, what is typed in it, the bench that runs it, and work beside. Knows no
// network and no clock: requests, times and random texts come from outside. For several threads.
#include <atomic>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "sim/reading/patch.hpp"
#include "tools/desk/desk_file.hpp"
#include "tools/desk/desk_work.hpp"
#include "tools/desk/fields.hpp"
#include "tools/desk/live_bench.hpp"
#include "tools/desk/refusal.hpp"
#include "tools/desk/typed_plant.hpp"
#include "tools/desk/watchdog_curves.hpp"
#include "tools/web/web_server.hpp"

namespace tools {

struct DeskSurroundings {
    std::function<proto::Instant()> now;  ///< of a clock that only goes on
    std::function<std::string()> hour;    ///< "14:02:31"
    std::function<std::string()> random;  ///< that nobody can guess
};

struct DeskSettings {
    std::string version;
    std::string secret;
};

class Desk final : public WebApplication {
  public:
    static constexpr std::size_t streams_max = 24;

    Desk(DeskSettings settings, FolderBeneath folder, DeskSurroundings surroundings);
    ~Desk();
    Desk(const Desk&) = delete;
    Desk& operator=(const Desk&) = delete;

    /// Opens a file of the folder. Or why not.
    std::optional<Failure> open(const std::string& name);
    /// Nothing is opened: an example runs until somebody begins.
    void open_example();
    /// To be called some fifty times a second.
    void run_on();

    WebReply answer(const WebRequest& request) override;
    std::optional<Value> event(const WebRequest& request) override;
    bool listens(const WebRequest& request) override;
    void listens_no_more(const WebRequest& request) override;
    [[nodiscard]] const std::atomic<std::uint64_t>* urgent() const override { return &news_; }

  private:
    // ---- requests (desk_requests.cpp) ----
    WebReply answer_get(const WebRequest& request);
    WebReply answer_post(const WebRequest& request);
    WebReply enter(const WebRequest& request);
    WebReply evidence(const std::string& name) const;
    DeskAnswer do_as_asked(const std::string& what, const Fields& fields);
    [[nodiscard]] DeskAnswer refuse_telegram(std::uint64_t telegram) const;

    // ---- the file and what is typed (desk_typing.cpp) ----
    void take_up(DeskFile file, bool example);
    /// Reads what is typed now; `typed`: of the same text, where somebody has read it already.
    void retype(std::shared_ptr<const TypedPlant> typed = nullptr);
    DeskAnswer begin(const Fields& fields);
    DeskAnswer set(const Fields& fields);
    DeskAnswer remove_block(const Fields& fields);
    DeskAnswer put_text(const Fields& fields);
    /// Where a text that cannot be read is refused: as what, and with which mends; else it becomes the text all the
    /// same.
    struct Edited {
        std::optional<Refused> refused;
        std::vector<Mend> mends = {};
    };
    DeskAnswer edited(const std::string& text, const std::string& words, Edited as);
    DeskAnswer refuse_value(const std::string& path, const std::string& value, const std::string& before,
                            const sim::FileError& error);
    static DeskAnswer refuse_stale(const std::string& path, const std::string& value,
                                   const std::optional<std::string>& now, const std::string& base);
    DeskAnswer refuse_name(const std::string& name, const Failure& failure, const std::string& path,
                           const Fields& fields);
    static Mend put_back(const std::string& path, const std::string& before);
    [[nodiscard]] Mend to_line() const;
    /// What was done leaves a file that cannot be read: that is said.
    void note_broken(DeskAnswer& answer, const std::string& done) const;
    /// A name for a new file, made of that one, which nothing in the folder has.
    [[nodiscard]] std::string free_name(const std::string& wanted) const;

    // ---- what becomes of the file (desk_keeping.cpp) ----
    DeskAnswer save(const Fields& fields);
    [[nodiscard]] bool is_there(const std::string& name) const;
    [[nodiscard]] DeskAnswer refuse_gone(const Fields& fields) const;
    [[nodiscard]] DeskAnswer refuse_foreign() const;
    [[nodiscard]] DeskAnswer refuse_stop(const Fields& fields) const;
    [[nodiscard]] Mend something_to_do() const;
    DeskAnswer look_again();
    DeskAnswer answer_foreign(const Fields& fields);
    DeskAnswer answer_draft(const Fields& fields);
    DeskAnswer keep(const Fields& fields);

    // ---- files dropped on the page (desk_dropped.cpp) ----
    DeskAnswer drop(const Fields& fields);
    DeskAnswer drop_measured(const std::string& given, const Fields& fields);
    /// A name beside that one which nothing in the folder has, or which holds the same times.
    [[nodiscard]] std::string free_times_name(const std::string& name) const;
    DeskAnswer compare_lists();
    void take_lists();

    // ---- bench and work (desk_trying.cpp) ----
    DeskAnswer at_bench(const Fields& fields);
    void begin_bench(sim::DeskBench::Begin begin);
    DeskAnswer begin_work(WorkAsked asked, const std::string& path, const Fields& fields);
    DeskAnswer replay(const Fields& fields);
    DeskAnswer rehearse();
    DeskAnswer work(const Fields& fields);
    void ask_curves();
    [[nodiscard]] bool is_saved() const { return file_ && !example_ && !file_->changed(); }
    /// Below the folder: where a rehearsal of the file, as it is called now, leaves its papers.
    [[nodiscard]] std::string evidence_folder() const;
    /// The folder of the file itself.
    [[nodiscard]] std::string own_folder() const;
    /// Of what is typed, in which file, with what it names as that lies on the disk.
    [[nodiscard]] std::uint64_t typed_mark() const;
    void look_around(proto::Instant now);
    void notice_if_gone();

    // ---- telling (desk_told.cpp) ----
    [[nodiscard]] Value told();
    [[nodiscard]] Value file_told() const;
    [[nodiscard]] Value truth_told(const Value& rehearsed) const;
    [[nodiscard]] Value rehearsal() const;
    [[nodiscard]] Value strength() const;
    [[nodiscard]] Value beginnings();

    const DeskSettings settings_;
    FolderBeneath folder_;  ///< changes only where it was gone and is made again
    const DeskSurroundings surroundings_;
    std::mutex mutex_;
    std::atomic<std::uint64_t> news_ = 0;  ///< acts that were asked for and done
    std::set<std::string> sessions_;
    std::map<std::string, std::size_t> streams_;
    std::optional<proto::Instant> seen_;  ///< somebody looked last

    std::optional<DeskFile> file_;
    bool example_ = false;
    std::uint64_t typed_stamp_ = 0;  ///< of the text that was read last
    std::optional<sim::WrittenFile> written_;
    std::shared_ptr<const TypedPlant> typed_;
    std::string begun_text_;         ///< what the bench runs
    std::uint64_t begun_epoch_ = 0;  ///< likewise, by what it names
    [[nodiscard]] bool bench_is_old() const { return begun_text_ != file_->text() || begun_epoch_ != epoch_; }
    std::string kept_text_;  ///< that `keep` made: what it replaces once more was done at the bench
    Value plant_told_, links_told_, functions_told_, problems_told_, cautions_told_;
    std::optional<proto::Instant> edited_at_;  ///< the draft is not kept yet
    std::optional<proto::Instant> looked_at_file_;
    std::string draft_trouble_;

    std::unique_ptr<LiveBench> bench_;
    WatchdogCurves curves_;
    DeskWork work_;
    std::string rehearsed_text_, rehearsed_folder_;
    std::uint64_t epoch_ = 0;       ///< goes up with another file, and where something that it names changed
    std::uint64_t named_mark_ = 0;  ///< of the files beside it that it may name
    std::optional<proto::Instant> looked_around_;
    struct Dropped {
        std::string name, text;
    };
    std::map<std::string, Dropped> dropped_;  ///< by what they are
    std::string dropped_times_;               ///< measured, as they were dropped last
    std::string lists_folder_;                ///< where they lie while they are compared
    Value lists_told_;
    Value beginnings_told_;
    /// A file of the folder as it was read last: null for what is no scenario.
    struct Listed {
        FileMark mark;
        Value told;
    };
    std::map<std::string, Listed> listed_;  ///< by name
    Value listed_told(const std::string& name);
    std::optional<proto::Instant> beginnings_at_;
};

/// "mine.toml" for "mine": people leave the ending out.
std::string with_ending(std::string name);

WebReply desk_refused(int status, std::string_view why);

}  // namespace tools
