#pragma once
// One SQLite file. The only place that knows the library; nothing here throws, and a failure stays until it is looked
// at.
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace tools {

enum class DatabaseProblem : std::uint8_t {
    none,
    busy,     ///< another process has it
    damaged,  ///< no database, or a broken one
    full,     ///< no room on the disk, or the file may not grow
    strange,  ///< lacks a table or column that was asked for
    other,
};

class Database {
  public:
    enum class Access : std::uint8_t {
        write,  ///< makes an empty file, that only its owner may read, where there is none
        read,   ///< takes no lock and writes nothing, not even beside it: nobody may write to it meanwhile, and no log
                ///< (`-wal`, `-journal`) may lie beside it, for it would not be looked at
    };
    /// Opens the file. The name is that of a file, whatever it looks like to the library. Look at problem() afterwards.
    explicit Database(const std::string& path, Access access = Access::write);
    /// A file that is held in memory, such as `image` says; what is written to it stays there.
    explicit Database(std::span<const std::uint8_t> image);
    Database(const Database&) = delete;
    Database& operator=(const Database&) = delete;
    Database(Database&&) noexcept;
    Database& operator=(Database&&) noexcept;
    ~Database();

    /// Any statements without results. False on failure, as everywhere here.
    bool run(const char* sql);
    /// The first column of the first row, or nothing: no row, null, or a failure.
    std::optional<std::int64_t> number(const char* sql);
    std::optional<std::string> text(const char* sql);

    /// Whether the end leaves the log of a write-ahead journal as it is, and with it the file; false at first.
    void keep_log_at_end(bool keep);

    /// The last failure: its kind, and the library's own words.
    [[nodiscard]] DatabaseProblem problem() const;
    [[nodiscard]] std::string message() const;

    class Statement {
      public:
        /// Keeps the database; look at its problem() afterwards.
        Statement(Database& database, const char* sql);
        Statement(const Statement&) = delete;
        Statement& operator=(const Statement&) = delete;
        Statement(Statement&&) noexcept;
        Statement& operator=(Statement&&) noexcept;
        ~Statement();

        // places count from 1
        void bind(int place, std::int64_t value);
        void bind(int place, std::optional<std::int64_t> value);
        void bind(int place, std::string_view text);
        void bind(int place, std::span<const std::uint8_t> bytes);
        /// True if there is a row; false at the end, or on failure.
        bool step();
        /// For another round with other values. False if the last step failed.
        bool reset();
        // columns count from 0
        [[nodiscard]] std::int64_t number(int column) const;
        [[nodiscard]] bool is_null(int column) const;
        [[nodiscard]] std::string text(int column) const;
        [[nodiscard]] std::vector<std::uint8_t> bytes(int column) const;

      private:
        struct Inside;
        std::unique_ptr<Inside> inside_;
    };

  private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

}  // namespace tools
