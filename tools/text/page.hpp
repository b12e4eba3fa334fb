#pragma once
// What a command shows on a terminal: lines of at most 100 characters, each with at most one coloured word.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace tools {

enum class Hue : std::uint8_t { none, good, caution, danger };
enum class Colour : std::uint8_t { off, on };

/// How wide a page is. Rows become two lines each under 90 columns.
struct Columns {
    static constexpr std::size_t least = 50;
    static constexpr std::size_t most = 100;
    static constexpr std::size_t for_wide_rows = 90;
    std::size_t count = most;

    /// Within least..most, whatever the terminal says.
    static Columns of_terminal(std::size_t said);
    [[nodiscard]] bool wide() const { return count >= for_wide_rows; }
};

class Page {
  public:
    explicit Page(Columns columns) : columns_(columns) {}

    [[nodiscard]] Columns columns() const { return columns_; }

    void blank();
    /// One line as it is; longer ones are wrapped with an indent of 4.
    void line(std::string_view text);
    /// `text` after `lead`; further lines begin at the width of the lead or at `indent`, if that is given.
    /// The lead's first `coloured` characters get the hue.
    void paragraph(std::string_view lead, std::string_view text);
    void paragraph_at(std::size_t indent, std::string_view lead, std::string_view text);
    void headline(std::string_view verdict, Hue hue, std::string_view text);
    /// A headline in which `more` goes on at once after the verdict and limits it: "PASS, link only: ...".
    void limited_headline(std::string_view verdict, Hue hue, std::string_view more);
    /// One line whose part [from, from + length) has a hue. Requires that it fits.
    void marked(std::string_view text, std::size_t from, std::size_t length, Hue hue);

    [[nodiscard]] std::string text(Colour colour) const;
    /// The headline alone, for --quiet; without one the whole page.
    [[nodiscard]] std::string head(Colour colour) const;

  private:
    struct Line {
        std::string text;
        std::size_t from = 0, length = 0;
        Hue hue = Hue::none;
    };
    static std::string painted(const Line& line, Colour colour);
    void push(Line line);
    /// From that line on to the end.
    void is_headline(std::size_t from, std::size_t coloured, Hue hue);

    Columns columns_;
    std::vector<Line> lines_;
    std::size_t head_lines_ = 0;  ///< lines up to the end of the headline
};

}  // namespace tools
